/*
 * mapPane(plan, root, options) draws a plan into `root` and returns the pane. A page may
 * hold several panes; no pane touches anything outside its root.
 *
 *   plan      what readPlan (unpack.js) makes of the data block
 *   root      an empty positioned element with a fixed size
 *   options   label    name of the map for screen readers
 *             tops     largest quantities to scale by, see tops and jointTops (unpack.js);
 *                      the plan's own if left out
 *             start    first state, merged into STATE
 *             onset    called with the pane after every drawing that `set` caused
 *             onlabel  called with the pane when its names are written; pane.unnamed
 *                      counts those that found no room
 *             onselect called with the chosen item or null, and whether by keyboard
 *             only     (lane) -> whether to draw it among the direct flows; all if left out
 *             mark     (site) -> null or { colour, text }: a ring around a sign and words
 *                      behind its name, for what differs between two plans
 *
 *   pane.state            see STATE; read only
 *   pane.set(changes)     merge changes into the state and draw again
 *   pane.setPeriod(i)     -1 is the whole year
 *   pane.select(id)       "yard:code", "source:code", "market:code", "road:code",
 *                         "lane:number"; null for nothing
 *   pane.now(list)        value of a list by period in the period shown, or its sum
 *   pane.fit()            show all sites
 *   pane.map              Leaflet's map; linkViews(a, b) moves two of them together
 *   pane.redraw()         after the root has changed its size
 *
 * The page (page.js) builds one pane and hands it to strip, controls, legend, card and
 * tables; each takes (element, pane) and calls pane.set, so a page with two panes may
 * hand them an object of the same shape that sets both. window.loamhaul is set there.
 */
const STATE = {
  period: WHOLE, chosen: null, materials: null, compost: true, haulage: "roads", largest: 40,
  colour: "feedstock", sources: true, unused: true, markets: true, villages: true,
  labels: true, siteNames: false, sourceNames: false, marketNames: false, tiles: false,
};
const LAYERS = ["roads", "flows", "markets", "sources", "unused", "yards", "labels"];

function mapPane(plan, root, options = {}) {
  root.classList.add("pane");
  const map = leafletMap(root);
  const pane = {
    plan, root, map, options, tops: options.tops || tops(plan), groups: {}, paths: new Map(), scale: {},
    state: { ...STATE, materials: new Set(plan.materials.map((m) => m.code)), haulage: plan.roads.some((r) => r.loaded) ? "roads" : "flows", ...options.start },
  };
  const svg = s("svg", { class: "overlay", overflow: "visible", role: "group", "aria-label": "Yards, sources and haulage" });
  for (const layer of LAYERS) svg.append(pane.groups[layer] = s("g", { class: "layer-" + layer }));
  map.createPane("signs").append(svg);
  map.getPane("signs").style.zIndex = 450;
  Object.assign(root, { tabIndex: 0 });
  root.setAttribute("role", "region");
  root.setAttribute("aria-label", options.label || "Map");

  pane.now = (list) => (pane.state.period === WHOLE ? sum(list) : list[pane.state.period] || 0);
  pane.periodName = () => (pane.state.period === WHOLE ? "Whole year" : plan.periods[pane.state.period].name);
  pane.point = (at) => map.latLngToLayerPoint(at);
  pane.set = (changes) => {
    Object.assign(pane.state, changes);
    const { chosen } = pane.state;
    if (pane.state.colour === "time" && !(plan.reach && chosen && chosen.intake)) pane.state.colour = "feedstock";
    drawPane(pane);
    if (options.onset) options.onset(pane);
  };
  pane.setPeriod = (period) => pane.set({ period: Math.max(WHOLE, Math.min(period, plan.periods.length - 1)) });
  pane.select = (id, focus = false) => {
    const chosen = (id && plan.place.get(id)) || null;
    pane.set({ chosen });
    if (options.onselect) options.onselect(chosen, focus);
  };
  pane.fit = () => {
    const all = [...plan.yards, ...plan.sources, ...plan.markets].map((site) => site.at);
    if (all.length) map.fitBounds(L.latLngBounds(all), { animate: false, padding: root.clientWidth < 600 ? [22, 26] : [44, 40], maxZoom: 15 });
  };
  pane.redraw = () => {
    map.invalidateSize({ animate: false, pan: false });
    pane.paths.clear();
    drawPane(pane);
  };

  listen(svg, pane);
  L.control.zoom({ position: "topright", zoomInTitle: "Zoom in", zoomOutTitle: "Zoom out" }).addTo(map);
  L.control.scale({ imperial: false, maxWidth: 120, position: "bottomright" }).addTo(map);
  map.invalidateSize({ animate: false, pan: false });
  pane.fit();
  drawBase(pane);
  map.on("zoomend viewreset", () => pane.paths.clear());
  map.on("zoomend viewreset moveend", () => drawPane(pane));
  map.on("resize", () => drawPane(pane));
  drawPane(pane);
  return pane;
}

/* Clicks and keys on anything that carries a data-id; a drag of the map is no click. */
function listen(svg, pane) {
  const target = (event) => event.target.closest("[data-id]");
  svg.addEventListener("click", (event) => {
    const found = target(event);
    if (found && !(pane.map.dragging && pane.map.dragging.moved())) pane.select(found.dataset.id);
  });
  /* The tooltip is made when it is asked for: hundreds of them would slow drawing. */
  svg.addEventListener("mouseover", (event) => {
    const found = target(event);
    if (found && !found.querySelector("title")) found.prepend(s("title", {}, found.getAttribute("aria-label") || found.dataset.title || ""));
  });
  svg.addEventListener("keydown", (event) => {
    const found = target(event);
    if (!found || (event.key !== "Enter" && event.key !== " ")) return;
    event.preventDefault();
    event.stopPropagation();
    pane.select(found.dataset.id, true);
  });
}

/* Scales hold for the whole year or for all single periods, so months compare. */
function setScales(pane) {
  const span = pane.state.period === WHOLE ? "year" : "period", width = pane.map.getSize().x;
  const small = width < 600 ? 0.62 : width < 900 ? 0.85 : 1, crowd = Math.min(1, Math.sqrt(20 / Math.max(1, pane.plan.open.length)));
  pane.scale = {
    yard: 28 * small * crowd / Math.sqrt(pane.tops.yard[span]), road: 13 * small * crowd ** 0.6 / pane.tops.road[span],
    lane: 13 * small * crowd ** 0.6 / pane.tops.lane[span], source: 9 * small * crowd / Math.sqrt(pane.tops.source[span]),
    yardTop: pane.tops.yard[span], roadTop: pane.tops.road[span], laneTop: pane.tops.lane[span],
  };
}
const yardRadius = (pane, t) => Math.max(6.5, pane.scale.yard * Math.sqrt(t));
const laneWidth = (pane, t) => Math.max(1, pane.scale.lane * t);
const roadWidth = (pane, t) => Math.max(1, pane.scale.road * t);
const sourceRadius = (pane, t) => Math.max(2.8, pane.scale.source * Math.sqrt(t));

/* Intake of a yard from the feedstocks shown, in the period shown. */
function intakeOf(pane, yard) {
  return pane.plan.materials.filter((m) => pane.state.materials.has(m.code) && yard.intake.has(m.code))
    .map((m) => ({ code: m.code, name: m.name, colour: m.colour, fill: fillOf(m), value: pane.now(yard.intake.get(m.code)) }))
    .filter((part) => part.value > 0);
}

/* The element with the keyboard's focus is drawn anew: the new one gets the focus. */
function drawPane(pane) {
  const held = document.activeElement, focused = held && pane.root.contains(held) && held.dataset && held.dataset.id;
  setScales(pane);
  for (const layer of LAYERS) pane.groups[layer].replaceChildren();
  drawRoads(pane);
  drawFlows(pane);
  drawSigns(pane);
  drawLabels(pane);
  if (focused) {
    const again = [...pane.groups.yards.children].find((g) => g.dataset.id === focused);
    if (again) again.focus({ preventScroll: true });
    else pane.root.focus({ preventScroll: true });
  }
}

/* Two maps that move together. */
function linkViews(a, b) {
  let busy = false;
  const follow = (from, to) => from.map.on("move zoom", () => {
    if (busy) return;
    busy = true;
    to.map.setView(from.map.getCenter(), from.map.getZoom(), { animate: false });
    busy = false;
  });
  follow(a, b);
  follow(b, a);
}
