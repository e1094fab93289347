/* Rounds of a day: a letter, a colour and a line pattern a truck; calls numbered. */
const byId = (id) => document.getElementById(id);
const COLOURS = ["#1F5FBF", "#2A211A", "#5B2A86", "#8F1D1D", "#6B4A2B", "#A8246B", "#A65B00", "#17795E", "#555B66", "#7A5C00", "#00594F", "#0B6E8A"];
/* Every fourth truck has the same pattern; their colours are apart for every eye. */
const PATTERNS = [[], [13, 6], [14, 5, 1, 5], [5, 5]];
const LOADED = 4.4, EMPTY_WAY = 1.5;
const EVERY = "", MOST_NUMBERS = 5;
const block = JSON.parse(byId("data").textContent);
const unpacked = (item) => ({ ...item, parts: item.parts.map(line) });
const plan = { ...block, land: block.land.map(unpacked), roads: block.roads.map(unpacked) };
const places = block.places.map(([kind, label, at]) => ({ kind, label, at: line(at)[0] }));
const ways = block.ways.map(line);
const asked = new URLSearchParams(location.hash.slice(1)).get("day");
const state = { day: asked in block.days ? asked : Object.keys(block.days)[0] || "1", yard: EVERY, truck: null };

const root = byId("map");
root.classList.add("pane");
root.setAttribute("role", "region");
root.setAttribute("aria-label", `Map of the rounds, ${shorten(block.period, 60)}`);
root.tabIndex = 0;
const map = leafletMap(root), pane = { plan, root, map };
L.control.zoom({ position: "topright", zoomInTitle: "Zoom in", zoomOutTitle: "Zoom out" }).addTo(map);
L.control.scale({ imperial: false, maxWidth: 120, position: "bottomright" }).addTo(map);
map.createPane("routes").style.zIndex = 450;
map.createPane("calls").style.zIndex = 460;
const routes = L.svg({ pane: "routes", padding: 1 }), drawn = L.layerGroup().addTo(map);

/* Trucks of the day at the yards shown, each with its colour. */
function shown() {
  const all = (block.days[state.day] || []).map((tour, n) => ({ ...tour, n, colour: COLOURS[n % COLOURS.length], pattern: PATTERNS[n % PATTERNS.length] }));
  return all.filter((tour) => state.yard === EVERY || tour.yard === state.yard);
}
const chosen = (tour) => state.truck === null || state.truck === tour.n;
const callWords = ([place, , , , freight, t, m3]) => {
  const { kind } = places[place];
  if (kind === "way") return "arrive empty";
  if (kind === "yard") return t > 0 ? `unload ${figure(t)} t` : "back, empty";
  return `${kind === "in" ? "load" : "unload"} ${freight.toLowerCase()} ${figure(t)} t, ${figure(m3)} m³`;
};

function draw() {
  const tours = shown();
  drawn.clearLayers();
  /* A yard's trucks that share a road lie on each other as stripes, the first widest. */
  const stripes = tours.filter(chosen), tagged = [];
  for (const tour of stripes) {
    const over = stripes.filter((other) => other.yard === tour.yard && other.n > tour.n).length;
    for (const [, , way, loaded] of tour.calls) {
      const weight = (loaded ? LOADED : EMPTY_WAY) + 1.6 * Math.min(3, over);
      L.polyline(ways[way], { renderer: routes, interactive: false, color: tour.colour, weight, opacity: 0.92, lineCap: "butt", dashArray: tour.pattern.join(" ") || null }).addTo(drawn);
    }
    letterOn(tour, tagged);
  }
  callNumbers(stripes);
  const t = sum(stripes.map((tour) => tour.t)), km = sum(stripes.map((tour) => tour.km));
  const who = state.truck === null ? `${stripes.length} ${stripes.length === 1 ? "truck" : "trucks"}` : stripes.map((tour) => `${tour.name}, ${shorten(tour.yard, 30)}`).join("");
  byId("hint").textContent = `Day ${state.day}: ${who}, ${figure(t)} t, ${figure(km)} km`;
  list(tours);
  stops(stripes);
  byId("before").disabled = step(-1) === null;
  byId("after").disabled = step(1) === null;
}

/* The truck's letter on its longest leg: in the middle, or where no other letter is near. */
const ALONG = [0.5, 0.3, 0.7, 0.15, 0.85], APART = 28;
function letterOn(tour, tagged) {
  const pixel = (place) => map.latLngToLayerPoint(place);
  const long = (way) => pixel(ways[way][0]).distanceTo(pixel(ways[way].at(-1)));
  const legs = [...new Set(tour.calls.map(([, , way]) => way))].sort((a, b) => long(b) - long(a));
  const spots = legs.flatMap((way) => ALONG.map((part) => along(ways[way], part)));
  const spot = spots.find((one) => tagged.every((other) => pixel(one).distanceTo(pixel(other)) > APART)) ?? spots[0];
  tagged.push(spot);
  const tag = h("span", { class: "letter" }, tour.letter);
  tag.style.background = tour.colour;
  L.marker(spot, { pane: "calls", interactive: false, keyboard: false, icon: L.divIcon({ html: tag, className: "call", iconSize: [0, 0] }) }).addTo(drawn);
}

/* A point of a way: so far along its corners. */
function along(points, part) {
  const at = part * (points.length - 1), [a, b] = [points[Math.floor(at)], points[Math.ceil(at)]];
  return [a[0] + (b[0] - a[0]) * (at % 1), a[1] + (b[1] - a[1]) * (at % 1)];
}

/* Beside every place the numbers of the calls there, a line a truck. */
function callNumbers(tours) {
  const at = new Map();
  for (const tour of tours) tour.calls.forEach(([place], n) => {
    if (["yard", "way"].includes(places[place].kind)) return;
    const here = at.get(place) || at.set(place, new Map()).get(place);
    here.set(tour, [...(here.get(tour) || []), n + 1]);
  });
  for (const [place, trucks] of at) {
    const tag = h("div", { class: "calls" }, [...trucks].map(([tour, calls]) => {
      const more = calls.length > MOST_NUMBERS ? "…" : "", pill = h("span", { class: "pill" }, `${tour.letter} ` + calls.slice(0, MOST_NUMBERS).join(" ") + more);
      pill.style.background = tour.colour;
      return pill;
    }));
    if (state.truck !== null) tag.append(h("span", { class: "at" }, name(shorten(places[place].label, 26))));
    L.marker(places[place].at, { pane: "calls", interactive: false, keyboard: false, icon: L.divIcon({ html: tag, className: "call", iconSize: [0, 0] }) }).addTo(drawn);
  }
}

function list(tours) {
  const held = document.activeElement && document.activeElement.dataset.truck;
  byId("trucks").replaceChildren(...tours.map((tour) => {
    const line = s("line", { x1: -20, x2: 20, y1: 0, y2: 0, stroke: tour.colour, "stroke-width": LOADED, "stroke-dasharray": tour.pattern.join(" ") || null });
    const swatch = h("span", { class: "key" }, h("span", { class: "letter" }, tour.letter), mini(42, 10, line));
    swatch.firstChild.style.background = tour.colour;
    const button = h("button", { type: "button", "data-truck": tour.n, "aria-pressed": String(state.truck === tour.n), onclick: () => pick(tour.n) }, swatch,
      h("span", {}, name(`${tour.yard}: ${tour.name}${tour.home === tour.yard ? "" : ` of ${shorten(tour.home, 30)}`}`), h("small", {}, `${tour.type}. ${tour.leaves} to ${tour.back}, ${figure(tour.t)} t, ${figure(tour.km)} km`)));
    return h("li", {}, button);
  }));
  if (!tours.length) byId("trucks").append(h("li", {}, "No truck is out."));
  const again = held !== undefined && held !== null && byId("trucks").querySelector(`[data-truck="${held}"]`);
  if (again) again.focus();
}

function stops(stripes) {
  const box = byId("stops"), [tour] = stripes;
  box.hidden = state.truck === null || !tour;
  if (box.hidden) return;
  box.replaceChildren(h("table", {}, h("caption", {}, `Calls of ${tour.name}, `, name(tour.yard)),
    h("thead", {}, h("tr", {}, ["", "Trip", "Arrives", "Place", "Do", "Ready"].map((text, i) => h("th", { scope: "col" }, i ? text : "No.")))),
    h("tbody", {}, tour.calls.map((call, n) => h("tr", { class: ["yard", "way"].includes(places[call[0]].kind) ? "yard" : null },
      h("td", {}, n + 1), h("td", {}, call[1]), h("td", {}, call[7]), h("td", {}, name(places[call[0]].label)), h("td", {}, callWords(call)), h("td", {}, call[8]))))));
}

/* Show the ways of the trucks chosen, or everything. */
function fit() {
  const some = state.truck !== null || state.yard !== EVERY ? shown().filter(chosen).flatMap((tour) => tour.calls.flatMap(([, , way]) => ways[way])) : all;
  if (some.length) map.fitBounds(L.latLngBounds(some), { animate: false, padding: root.clientWidth < 600 ? [28, 34] : [56, 56], maxZoom: 13 });
}
function pick(n) {
  state.truck = state.truck === n ? null : n;
  draw();
  fit();
}
function step(by) {
  const all = Object.keys(block.days), at = all.indexOf(state.day) + by;
  return at >= 0 && at < all.length ? all[at] : null;
}
function setDay(day) {
  if (day === null || !block.days[day]) return;
  Object.assign(state, { day, truck: null });
  byId("day").value = day;
  draw();
  if (state.yard !== EVERY) fit();
}
function setYard(yard) {
  Object.assign(state, { yard, truck: null });
  byId("yard").value = yard;
  draw();
  fit();
}

byId("yard").append(h("option", { value: EVERY }, "All yards"), ...block.yards.map(([label]) => h("option", { value: label }, label)));
byId("day").value = state.day;
byId("day").addEventListener("change", (event) => setDay(event.target.value));
byId("yard").addEventListener("change", (event) => setYard(event.target.value));
byId("before").addEventListener("click", () => setDay(step(-1)));
byId("after").addEventListener("click", () => setDay(step(1)));
byId("ground").textContent = block.straight ? "The tables have no roads, so lines are straight." : "Lines follow the quickest way that month along the roads of the tables.";

map.invalidateSize({ animate: false, pan: false });
const all = [...places.map((p) => p.at), ...block.yards.map(([, at]) => line(at)[0])];
fit();
const home = map.getZoom(), crowded = () => root.classList.toggle("far", root.clientWidth < 600 && map.getZoom() <= home + 0.5);
map.on("zoomend", crowded);
drawBase(pane);
crowded();
for (const village of pane.villages) L.marker(village.at, { pane: "calls", interactive: false, keyboard: false, icon: L.divIcon({ html: h("span", { class: "village-name" }, name(shorten(village.name, 26))), className: "call", iconSize: [0, 0] }) }).addTo(map);
for (const [label, at] of block.yards) {
  L.circleMarker(line(at)[0], { renderer: routes, interactive: false, radius: 8, color: PAPER, weight: 2, fillColor: INK, fillOpacity: 1 }).addTo(map);
  L.marker(line(at)[0], { pane: "calls", interactive: false, keyboard: false, icon: L.divIcon({ html: h("span", { class: "yard-tag" }, name(shorten(label, 26))), className: "call", iconSize: [0, 0] }) }).addTo(map);
}
draw();
window.loamhaul = { setDay, setYard, pick, state, map, ready: performance.now() };
