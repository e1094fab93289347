/* The page: base map, period strip, layers, legend, search; then the first drawing. */
const LAND_STYLE = {
  land: { fillColor: "#f2efe3", fillOpacity: 1, color: "#9fb3b5", weight: 1.2 },
  water: { fillColor: "#d3e3e6", fillOpacity: 1, color: "#9fb3b5", weight: 1 },
  river: { color: "#a3c4cf", weight: 2.4, fill: false },
  flood: { fillColor: "#b9d2d6", fillOpacity: 0.5, color: "#8fb0b8", weight: 0.8, dashArray: "3 3" },
  protected: { fillColor: "#cfdcb8", fillOpacity: 0.65, color: "#9bb07a", weight: 0.8 },
  dwellings: { fillColor: "#dccfc0", fillOpacity: 0.8, color: "#c2b29e", weight: 0.6 },
  village: { fillColor: "#d3c4b2", fillOpacity: 0.9, color: "#b09e88", weight: 0.6 },
  well: { fillColor: "#2f6f8f", fillOpacity: 1, color: "#2f6f8f", weight: 1, radius: 2 },
  school: { fillColor: "#fffdf8", fillOpacity: 1, color: "#7a5c3a", weight: 1.6, radius: 2.6 },
  clinic: { fillColor: "#fffdf8", fillOpacity: 1, color: "#9a2f1f", weight: 1.6, radius: 2.6 },
  boundary: { fill: false, color: "#8b7f70", weight: 0.8, dashArray: "2 2" },
  district: { fill: false, color: "#8b7f70", weight: 1.2, dashArray: "8 4 2 4" },
};
const LAND_WORDS = { flood: "Flood land", protected: "Protected land", dwellings: "Dwellings", well: "Well", school: "School", clinic: "Clinic", boundary: "Property line", district: "District border" };
const ROAD_STYLE = {
  paved_main: { color: "#b8a789", weight: 2.6 }, paved_local: { color: "#c5b79d", weight: 1.8 },
  gravel: { color: "#cdc1aa", weight: 1.3 }, earth: { color: "#cdc1aa", weight: 1.1, dashArray: "4 3" },
  town: { color: "#b8a789", weight: 2 }, ferry: { color: "#5f8d9e", weight: 1.8, dashArray: "2 5" },
};
const ORDER = ["land", "district", "protected", "flood", "water", "river", "dwellings", "boundary", "village", "school", "clinic", "well"];
const named = [];

function drawBase() {
  const renderer = L.svg({ padding: 1 });
  const sea = DATA.land.some((f) => f.properties.kind === "land" || f.properties.kind === "water");
  const box = map_main.getContainer();
  const frame = DATA.frame && L.latLngBounds(DATA.frame).extend(L.geoJSON(DATA.land).getBounds());
  if (sea && DATA.frame) {
    L.rectangle(frame, { renderer, interactive: false, stroke: false, fillColor: "#d3e3e6", fillOpacity: 1 }).addTo(map_main);
    box.style.background = "#e6e1d3";
  } else if (!sea) box.style.background = "#f2efe3";
  const kinds = DATA.land.slice().sort((a, b) => ORDER.indexOf(a.properties.kind) - ORDER.indexOf(b.properties.kind));
  L.geoJSON(kinds, {
    renderer, interactive: false, style: (f) => ({ ...LAND_STYLE[f.properties.kind] }),
    pointToLayer: (f, at) => L.circleMarker(at, { renderer, interactive: false, radius: 3, color: "#8b7f70", weight: 1.2, fillColor: "#fffdf8", fillOpacity: 1 }),
    onEachFeature: (f, layer) => {
      const { kind, name: text } = f.properties;
      if (text && (kind === "village" || kind === "water")) named.push({ name: text, water: kind === "water", at: layer.getLatLng ? layer.getLatLng() : layer.getBounds().getCenter() });
    },
  }).addTo(map_main);
  L.geoJSON(DATA.roads, { renderer, interactive: false, style: (f) => ({ ...ROAD_STYLE[f.properties.class] }) }).addTo(map_main);
  if (sea && DATA.frame) L.rectangle(frame, { renderer, interactive: false, fill: false, color: "#8b7f70", weight: 1 }).addTo(map_main);
  named.sort((a, b) => a.water - b.water);
}

function fit() {
  const all = [...place.values()].map((p) => p.at);
  if (all.length) map_main.fitBounds(L.latLngBounds(all), { animate: false, padding: [34, 34] });
}

/* One column a period: stacked tonnes hauled to yards, supply as an outline. */
function strip() {
  const box = document.getElementById("strip");
  box.setAttribute("role", "radiogroup");
  box.setAttribute("aria-label", "Period shown on the map");
  const hauled = DATA.materials.map((m) => DATA.periods.map((_, i) => sum(lanes.filter((l) => l.kind === "in" && l.material === m.code).map((l) => l.t[i]))));
  const supply = DATA.periods.map((_, i) => sum(DATA.sources.map((x) => x.supply[i])));
  const total = DATA.periods.map((_, i) => sum(hauled.map((l) => l[i])));
  const top = Math.max(1e-9, ...supply, ...total);
  const step = Math.ceil(DATA.periods.length / 14);
  const press = (period) => () => setPeriod(period);
  const year = h("button", { type: "button", role: "radio", class: "year", onclick: press(WHOLE), "aria-label": `Whole year, ${tonnes(sum(total))} hauled` }, "Whole year", h("small", {}, tonnes(sum(total))));
  const columns = DATA.periods.map((period, i) => {
    const chart = s("svg", { viewBox: "0 0 30 62", preserveAspectRatio: "none", "aria-hidden": "true" });
    const y = (value) => 61 - (value / top) * 58;
    chart.append(s("rect", { x: 3, width: 24, y: y(supply[i]), height: 61 - y(supply[i]), fill: "#d8ccb4" }));
    let base = 0;
    hauled.forEach((list, k) => {
      if (list[i] > 0) chart.append(s("rect", { x: 3, width: 24, y: y(base + list[i]), height: y(base) - y(base + list[i]), fill: DATA.materials[k].colour }));
      base += list[i];
    });
    const text = `${period.name}: ${tonnes(total[i])} hauled of ${tonnes(supply[i])} arising`;
    return h("button", { type: "button", role: "radio", title: text, "aria-label": text, onclick: press(i) }, chart, h("span", { "aria-hidden": "true" }, i % step ? "\u00a0" : period.short));
  });
  box.append(year, ...columns);
  box.addEventListener("keydown", (event) => {
    const move = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (!move) return;
    event.preventDefault();
    const count = DATA.periods.length + 1;
    setPeriod(((state.period + 1 + move + count) % count) - 1);
    box.children[state.period + 1].focus();
  });
}

function setPeriod(period) {
  state.period = period;
  [...document.getElementById("strip").children].forEach((button, i) => {
    button.setAttribute("aria-checked", String(i === period + 1));
    button.tabIndex = i === period + 1 ? 0 : -1;
  });
  refresh();
}
function choose(target, focus) {
  const card = document.getElementById("card"), held = card.contains(document.activeElement);
  state.chosen = target;
  refresh();
  if (!target) {
    if (held) map_main.getContainer().focus({ preventScroll: true });
    return;
  }
  document.querySelector(".panel").scrollTop = 0;
  const below = card.getBoundingClientRect().top - (window.innerHeight - 230);
  if (below > 0) window.scrollBy(0, below);
  if (focus || held) card.focus({ preventScroll: true });
}
function refresh() {
  draw();
  showCard();
  legend();
}

function check(text, on, change, extra) {
  const box = h("input", { type: "checkbox" });
  box.checked = on;
  box.addEventListener("change", () => { change(box.checked); refresh(); });
  return h("label", {}, box, extra || null, name(text));
}
function layerBoxes() {
  const flag = (text, key) => check(text, state[key], (on) => { state[key] = on; });
  document.getElementById("layers").append(
    h("h3", {}, "Feedstocks"),
    h("div", { class: "checks" }, DATA.materials.map((m) => check(m.name, true, (on) => (on ? state.materials.add(m.code) : state.materials.delete(m.code)), chip(m.code)))),
    h("h3", {}, "On the map"),
    h("div", { class: "checks" }, flag("Haulage to yards", "lanes"), check("Compost to markets", state.compost, (on) => { state.compost = on; }, chip("compost")),
      flag("Sources", "sources"), flag("Unused sites", "unused"), flag("Markets", "markets"), flag("Names", "labels")));
}

function legend() {
  const mini = (w, hgt, ...inside) => s("svg", { width: w, height: hgt, viewBox: `${-w / 2} ${-hgt / 2} ${w} ${hgt}`, "aria-hidden": "true" }, ...inside);
  const key = (picture, text) => h("div", { class: "key" }, picture, h("span", {}, text));
  const sample = DATA.materials.slice(0, 3).map((m, i) => ({ colour: m.colour, value: 3 - i }));
  const span = state.period === WHOLE ? "t a year" : "t in the period";
  const steps = (limit) => niceSteps(limit);
  const yardSteps = steps((27 / scale.yard) ** 2 * (map_main.getSize().x < 600 ? 0.52 : 1));
  const laneSteps = steps(13 / scale.lane * (map_main.getSize().x < 600 ? 0.72 : 1));
  const first = DATA.materials[0];
  const landKinds = [...new Set(DATA.land.map((f) => f.properties.kind))].filter((k) => LAND_WORDS[k]);
  document.getElementById("legend").replaceChildren(
    h("h3", {}, "Legend"),
    key(mini(30, 26, ...yardSign(sample, 10, false)), "New yard; ring by feedstock taken in"),
    key(mini(30, 26, ...yardSign(sample, 10, true)), "Existing yard"),
    key(mini(30, 18, ...unusedSign(false)), "Candidate, not used"),
    DATA.yards.some((y) => y.status === "refused") ? key(mini(30, 18, ...refusedSign()), "Candidate refused by the land screening") : "",
    DATA.yards.some((y) => y.status === "closed") ? key(mini(30, 18, ...unusedSign(true)), "Closed site") : "",
    key(mini(30, 18, s("path", { d: sign("circle", 5), fill: first.colour })), "Source; area by supply, sign and colour by feedstock"),
    key(mini(30, 18, s("path", { d: sign("circle", 5), fill: "#fffdf8", stroke: first.colour, "stroke-width": 1.8 })), "Source, nothing collected"),
    key(mini(30, 20, s("path", { d: sign("leaf", 5), fill: DATA.compost.colour })), "Market with compost delivered; hollow without"),
    h("p", { class: "legend-title" }, `Yard intake, ${span}`),
    h("div", { class: "legend-row" }, yardSteps.map((t) => { const r = yardRadius(t); return h("div", {}, mini(2 * r + 4, 2 * r + 4, s("circle", { r, fill: "#e4dac8", stroke: "#2a211a", "stroke-width": 1.5 })), figure(t)); })),
    h("p", { class: "legend-title" }, `Haulage, ${span}; straight between places, not the road`),
    h("div", { class: "legend-row" }, laneSteps.map((t) => h("div", {}, mini(64, 18, s("line", { x1: -30, x2: 30, y1: 0, y2: 0, stroke: "#655a4f", "stroke-width": laneWidth(t) })), figure(t)))),
    ...landKinds.map((k) => key(mini(30, 16, LAND_STYLE[k].radius ? s("circle", { r: LAND_STYLE[k].radius, fill: LAND_STYLE[k].fillColor, stroke: LAND_STYLE[k].color }) : s("rect", { x: -12, y: -6, width: 24, height: 12, fill: LAND_STYLE[k].fillColor || "none", stroke: LAND_STYLE[k].color, "stroke-dasharray": LAND_STYLE[k].dashArray || null })), LAND_WORDS[k])),
    key(mini(30, 16, s("rect", { x: -5, y: -7, width: 10, height: 14, fill: "#d8ccb4" })), "Strip: pale column is what arises, colours are what is hauled"));
}

function search() {
  const list = document.getElementById("places"), find = document.getElementById("find"), known = new Map();
  [...place.values()].forEach((p) => {
    const text = `${p.name} (${p.kind} ${p.code})`;
    known.set(text, p);
    list.append(h("option", { value: text }));
  });
  find.addEventListener("change", () => {
    const target = known.get(find.value) || [...place.values()].find((p) => p.code === find.value || p.name.toLowerCase() === find.value.toLowerCase());
    if (target) { map_main.panTo(target.at, { animate: false }); choose(target); }
  });
}

function notes() {
  document.getElementById("notes").append(
    h("p", {}, "Quantities are tonnes as received (wet). Plan: ", DATA.status, "."),
    h("p", {}, "Distances: ", name(DATA.travel), "."),
    ...DATA.cautions.map((text) => h("p", {}, text)),
    h("p", {}, "Drawn with Leaflet 1.9.4 from the data in this file; nothing is loaded from a network."));
}

L.control.zoom({ position: "topright" }).addTo(map_main);
L.control.scale({ imperial: false, position: "bottomright" }).addTo(map_main);
strip();
layerBoxes();
search();
notes();
map_main.invalidateSize({ animate: false, pan: false });
fit();
drawBase();
map_main.on("zoomend viewreset moveend", draw);
map_main.on("resize", refresh);
document.addEventListener("keydown", (event) => { if (event.key === "Escape" && state.chosen) choose(null); });
setPeriod(WHOLE);
