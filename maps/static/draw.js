/* What is drawn on the land: flows, places and labels, in one SVG above Leaflet's. */
const MOST_LANES = 600;
const scale = { yard: 1, lane: 1, source: 1 };
const overlay = s("svg", { class: "overlay", overflow: "visible" });
const groups = {};
["flows", "markets", "sources", "unused", "yards", "labels"].forEach((id) => {
  groups[id] = s("g", {});
  overlay.append(groups[id]);
});
map_main.createPane("signs").append(overlay);
map_main.getPane("signs").style.zIndex = 450;
const point = (at) => map_main.latLngToLayerPoint(at);
const isChosen = (p) => state.chosen && state.chosen.kind === p.kind && state.chosen.code === p.code;

function shownLanes() {
  const wanted = (lane) => (lane.kind === "in" ? state.lanes && state.materials.has(lane.material) : state.compost);
  const touches = (lane, c) => c.kind === "lane" ? c.lane === lane : lane.start.kind + lane.start.code === c.kind + c.code || lane.end.kind + lane.end.code === c.kind + c.code;
  const all = lanes.map((lane) => ({ lane, t: now(lane.t), strong: state.chosen ? touches(lane, state.chosen) : null }))
    .filter((x) => x.t > 0.005 && (wanted(x.lane) || x.strong)).sort((a, b) => b.t - a.t);
  return { all, drawn: all.filter((x, i) => i < MOST_LANES || x.strong) };
}

/* Scales hold for the whole year or for all single periods, so months compare. */
function setScales() {
  const top = (lists) => Math.max(1e-9, ...lists.map((l) => (state.period === WHOLE ? sum(l) : Math.max(...l))));
  const small = map_main.getSize().x < 600 ? 0.72 : 1;
  const taken = DATA.yards.filter(isOpen).map((y) => DATA.periods.map((_, i) => sum(
    lanes.filter((l) => l.kind === "in" && l.to === y.code).map((l) => l.t[i]))));
  scale.yard = (27 * small) / Math.sqrt(top(taken.length ? taken : [[0]]));
  scale.lane = (13 * small) / top(lanes.length ? lanes.map((l) => l.t) : [[0]]);
  scale.source = (10 * small) / Math.sqrt(top(DATA.sources.length ? DATA.sources.map((x) => x.supply) : [[0]]));
}
const yardRadius = (t) => Math.max(7, scale.yard * Math.sqrt(t));
const laneWidth = (t) => Math.max(0.9, scale.lane * t);
const sourceRadius = (t) => Math.max(2.6, scale.source * Math.sqrt(t));

function drawFlow({ lane, t, strong }) {
  const a = point(lane.start.at), b = point(lane.end.at), width = laneWidth(t);
  const dx = b.x - a.x, dy = b.y - a.y, length = Math.hypot(dx, dy);
  if (length < 3) return;
  const side = lane.kind === "in" ? 0.16 : -0.16;
  const c = { x: (a.x + b.x) / 2 - dy * side, y: (a.y + b.y) / 2 + dx * side };
  const colour = material.get(lane.material).colour;
  const opacity = strong === null ? (lane.kind === "in" ? 0.72 : 0.5) : strong ? 0.95 : 0.13;
  const d = `M${a.x} ${a.y}Q${c.x.toFixed(1)} ${c.y.toFixed(1)} ${b.x} ${b.y}`;
  const label = `${lane.start.name} to ${lane.end.name}: ${tonnes(t)} of ${material.get(lane.material).name}, ${periodName()}`;
  const group = s("g", { class: "flow", opacity, onclick: () => choose({ kind: "lane", lane }) }, s("title", {}, label),
    s("path", { d, stroke: colour, "stroke-width": width.toFixed(2), "stroke-linecap": "butt", "stroke-dasharray": lane.kind === "out" ? "7 3" : null }),
    s("path", { d, stroke: "transparent", "stroke-width": Math.max(12, width) }));
  if (length > 26) group.append(arrow(a, b, c, width, colour));
  groups.flows.append(group);
}
/* Arrow head on the curve, past its middle, pointing along it. */
function arrow(a, b, c, width, colour) {
  const u = 0.6, v = 1 - u;
  const x = v * v * a.x + 2 * u * v * c.x + u * u * b.x, y = v * v * a.y + 2 * u * v * c.y + u * u * b.y;
  const turn = Math.atan2(2 * v * (c.y - a.y) + 2 * u * (b.y - c.y), 2 * v * (c.x - a.x) + 2 * u * (b.x - c.x)) * 180 / Math.PI;
  const k = Math.max(4, width * 0.95);
  return s("path", { d: `M${k} 0L${-k * 0.8} ${k * 0.9}L${-k * 0.4} 0L${-k * 0.8} ${-k * 0.9}Z`, fill: colour, transform: `translate(${x.toFixed(1)} ${y.toFixed(1)}) rotate(${turn.toFixed(1)})` });
}

/* A place: its sign in a group that can be pressed; yards are reached by the Tab key. */
function sitePlace(target, label, ...inside) {
  const at = point(target.at);
  const group = s("g", {
    class: "place", transform: `translate(${at.x} ${at.y})`, "aria-label": label, role: "button",
    tabindex: target.kind === "yard" && isOpen(target) ? "0" : "-1", onclick: () => choose(target),
  }, s("title", {}, label), s("circle", { r: 12, fill: "transparent" }), ...inside);
  group.addEventListener("keydown", (event) => {
    if (event.key === "Enter" || event.key === " ") { event.preventDefault(); event.stopPropagation(); choose(target, true); }
  });
  return group;
}
const halo = (target, r) => s("circle", { class: "halo", r, fill: "none", stroke: isChosen(target) ? "#2a211a" : "none", "stroke-width": 3 });

function drawSource(source) {
  const supply = now(source.supply), m = material.get(source.material);
  if (!state.sources || !state.materials.has(source.material) || supply <= 0) return;
  const r = sourceRadius(supply), some = now(source.collected) > supply * 0.02;
  const label = `${source.name}: ${tonnes(supply)} of ${m.name}, ${tonnes(now(source.collected))} collected, ${periodName()}`;
  groups.sources.append(sitePlace(source, label, halo(source, r + 5),
    s("path", { d: sign(m.shape, r), fill: some ? m.colour : "#fffdf8", stroke: some ? "#fffdf8" : m.colour, "stroke-width": some ? 1 : 1.8 })));
}
function drawMarket(market) {
  const demand = now(market.demand);
  if (!state.markets || demand <= 0) return;
  const served = now(market.delivered) > demand * 0.02;
  const label = `${market.name}: ${tonnes(now(market.delivered))} of ${tonnes(demand)} of compost delivered, ${periodName()}`;
  groups.markets.append(sitePlace(market, label, halo(market, 11),
    s("path", { d: sign("leaf", 4.6), fill: served ? DATA.compost.colour : "#fffdf8", stroke: served ? "#fffdf8" : DATA.compost.colour, "stroke-width": served ? 1 : 1.6 })));
}
function unusedSign(closed) {
  return [s("circle", { r: 5.5, fill: "#fffdf8", stroke: "#4d443b", "stroke-width": 1.5, "stroke-dasharray": closed ? null : "2.2 1.8" }),
    closed ? s("path", { d: "M-3 -3L3 3M3 -3L-3 3", stroke: "#4d443b", "stroke-width": 1.5 }) : s("circle", { r: 1.3, fill: "#4d443b" })];
}
function refusedSign() {
  return [s("circle", { r: 5.8, fill: "#fffdf8", stroke: "#9a2f1f", "stroke-width": 1.8 }), s("path", { d: "M-4.1 4.1L4.1 -4.1", stroke: "#9a2f1f", "stroke-width": 1.8 })];
}
function yardSign(parts, r, existing) {
  return [s("circle", { r: r + 1.6, fill: "#2a211a" }), s("circle", { r, fill: "#fffdf8" }), ...ring(parts, r, r * 0.52),
    s("circle", { r: r * 0.52, fill: existing ? "#2a211a" : "#fffdf8" })];
}
function drawYard(yard) {
  if (!isOpen(yard)) {
    const refused = yard.status === "refused", why = refused ? ` (${yard.screening[0][1]})` : "";
    if (state.unused) groups.unused.append(sitePlace(yard, `${yard.name}: ${STATUS[yard.status]}${why}`, halo(yard, 10), refused ? refusedSign() : unusedSign(yard.status === "closed")));
    return;
  }
  const parts = intake(yard.code), total = sum(parts.map((p) => p.value)), r = yardRadius(total);
  const label = `${yard.name}: ${tonnes(total)} taken in, ${periodName()}`;
  groups.yards.append(sitePlace(yard, label, halo(yard, r + 5), yardSign(parts, r, yard.status === "existing")));
}

/* Labels, weightiest first; one that would cover another or a yard is left out. */
function drawLabels() {
  const taken = [], signs = [], corner = map_main.containerPointToLayerPoint([0, 0]), size = map_main.getSize();
  const free = (box) => taken.every((b) => box.x1 < b.x0 || box.x0 > b.x1 || box.y1 < b.y0 || box.y0 > b.y1);
  const wanted = DATA.yards.filter(isOpen).map((y) => {
    const t = intakeTotal(y.code);
    return { at: point(y.at), r: yardRadius(t), weight: t, lines: [y.name, tonnes(t)], must: isChosen(y) };
  }).sort((a, b) => b.must - a.must || b.weight - a.weight);
  wanted.forEach((w) => taken.push({ x0: w.at.x - w.r, x1: w.at.x + w.r, y0: w.at.y - w.r, y1: w.at.y + w.r }));
  DATA.sources.forEach((x) => {
    const r = sourceRadius(now(x.supply)), at = point(x.at);
    if (r > 5 && state.sources) signs.push({ x0: at.x - r, x1: at.x + r, y0: at.y - r, y1: at.y + r });
  });
  const put = (text, x, y, anchor, kind, weight) => groups.labels.append(s("text", { x, y, "text-anchor": anchor, class: "over " + kind, "font-size": kind ? null : 13, "font-weight": weight }, text));
  wanted.forEach((w) => {
    const width = Math.max(...w.lines.map((l) => [...l].length)) * 7.2;
    const spots = [["middle", 0, w.r + 15], ["start", w.r + 5, -2], ["end", -w.r - 5, -2], ["middle", 0, -w.r - 22]];
    for (const [anchor, dx, dy] of spots) {
      const x = w.at.x + dx, y = w.at.y + dy, left = anchor === "middle" ? x - width / 2 : anchor === "start" ? x : x - width;
      const box = { x0: left, x1: left + width, y0: y - 12, y1: y + 18 };
      const inView = box.x0 > corner.x + 2 && box.x1 < corner.x + size.x - 2 && box.y0 > corner.y && box.y1 < corner.y + size.y;
      if ((!free(box) || !inView) && !(w.must && anchor === "middle")) continue;
      taken.push(box);
      put(w.lines[0], x, y, anchor, "", 650);
      put(w.lines[1], x, y + 14, anchor, "", 400);
      return;
    }
  });
  taken.push(...signs);
  named.forEach((v) => {
    const at = point(v.at), width = [...v.name].length * 6.3;
    const spots = v.water ? [["middle", 0, 4]] : [["middle", 0, -6], ["middle", 0, 18], ["start", 8, 5], ["end", -8, 5]];
    for (const [anchor, dx, dy] of spots) {
      const x = at.x + dx, y = at.y + dy, left = anchor === "middle" ? x - width / 2 : anchor === "start" ? x : x - width;
      const box = { x0: left, x1: left + width, y0: y - 10, y1: y + 3 };
      if (!free(box)) continue;
      taken.push(box);
      put(v.name, x, y, anchor, "village" + (v.water ? " water" : ""), null);
      return;
    }
  });
}

function draw() {
  setScales();
  Object.values(groups).forEach((group) => group.replaceChildren());
  const { all, drawn } = shownLanes();
  drawn.slice().reverse().sort((x, y) => (x.strong ? 1 : 0) - (y.strong ? 1 : 0)).forEach(drawFlow);
  DATA.markets.forEach((p) => drawMarket(place.get("market:" + p.code)));
  DATA.sources.forEach((p) => drawSource(place.get("source:" + p.code)));
  DATA.yards.forEach((p) => drawYard(place.get("yard:" + p.code)));
  if (state.labels) drawLabels();
  const hint = document.getElementById("hint");
  const left = all.length - drawn.length;
  hint.textContent = `${periodName()}: ${tonnes(sum(all.filter((x) => x.lane.kind === "in").map((x) => x.t)))} hauled to yards` + (left > 0 ? `; the ${left} smallest lanes are not drawn` : "");
}
