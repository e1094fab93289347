/*
 * A map without land and roads is no empty sheet: meridians and parallels with their
 * degrees, a north sign, the outline of all sites and the edges of the district. The
 * page has this script only then; base.js calls it.
 */
const GRID_STEPS = [0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 30];
const GRID_LINE = "#cfc6b4", GRID_INK = "#6b5f52";

function degreeText(value, digits, plus, minus) {
  return `${Math.abs(value).toFixed(digits)}° ${value > 0 ? plus : value < 0 ? minus : ""}`.trim();
}
function ticks(low, high, step) {
  const found = [];
  for (let n = Math.ceil(low / step); n * step <= high; n++) found.push(n * step);
  return found;
}
/* The corners of the convex hull of places (lat, lon), by Andrew's monotone chain. */
function hullOf(places) {
  const sorted = [...places].sort((a, b) => a[1] - b[1] || a[0] - b[0]);
  const turn = (o, a, b) => (a[1] - o[1]) * (b[0] - o[0]) - (a[0] - o[0]) * (b[1] - o[1]);
  const chain = (list) => list.reduce((kept, place) => {
    while (kept.length > 1 && turn(kept.at(-2), kept.at(-1), place) <= 0) kept.pop();
    return [...kept, place];
  }, []).slice(0, -1);
  return [...chain(sorted), ...chain(sorted.reverse())];
}

function drawSheet(pane) {
  const { map, plan } = pane, all = [...plan.yards, ...plan.sources, ...plan.markets].map((site) => site.at);
  Object.assign(pane.state, { sourceNames: true, marketNames: true });
  const group = s("g", { class: "sheet", "aria-hidden": "true" });
  pane.groups.roads.before(group);
  const hull = hullOf(all);
  const outline = (corners, dash) => s("path", { d: `M${corners.map((at) => { const p = map.latLngToLayerPoint(at); return `${p.x.toFixed(1)},${p.y.toFixed(1)}`; }).join("L")}Z`, fill: "none", stroke: "#8b7f70", "stroke-width": 1.2, "stroke-dasharray": dash });
  const draw = () => {
    const view = map.getBounds(), size = map.getSize(), corner = map.containerPointToLayerPoint([0, 0]);
    const most = size.x < 600 ? 3 : 6;
    const step = GRID_STEPS.find((one) => (view.getEast() - view.getWest()) / one <= most) || GRID_STEPS.at(-1);
    const digits = step >= 1 ? 0 : step >= 0.1 ? 1 : step >= 0.01 ? 2 : 3;
    const ruled = [], named = [];
    const rule = (x1, y1, x2, y2) => ruled.push(s("path", { d: `M${x1},${y1}L${x2},${y2}`, fill: "none", stroke: GRID_LINE, "stroke-width": 1 }));
    const write = (x, y, text, anchor) => named.push(s("text", { x, y, "text-anchor": anchor, "font-size": 11, fill: GRID_INK, class: "over" }, text));
    for (const lon of ticks(view.getWest(), view.getEast(), step)) {
      const { x } = map.latLngToLayerPoint([view.getCenter().lat, lon]);
      rule(x, corner.y, x, corner.y + size.y);
      if (x - corner.x > 60 && x - corner.x < size.x - 170) write(x, corner.y + size.y - 8, degreeText(lon > 180 ? lon - 360 : lon, digits, "E", "W"), "middle");
    }
    for (const lat of ticks(view.getSouth(), view.getNorth(), step)) {
      const { y } = map.latLngToLayerPoint([lat, view.getCenter().lng]);
      rule(corner.x, y, corner.x + size.x, y);
      if (y - corner.y > 60 && y - corner.y < size.y - 70) write(corner.x + 6, y - 4, degreeText(lat, digits, "N", "S"), "start");
    }
    const lines = [];
    if (plan.frame) {
      const [[south, west], [north, east]] = plan.frame;
      lines.push(outline([[south, west], [south, east], [north, east], [north, west]], "8 4 2 4"));
    }
    if (hull.length > 2) lines.push(outline(hull, "3 4"));
    const north = s("g", { class: "north", transform: `translate(${corner.x + 26},${corner.y + size.y - 34})` },
      s("path", { d: "M0,-16L6,8L0,4L-6,8Z", fill: GRID_INK }), s("text", { y: 22, "text-anchor": "middle", "font-size": 13, "font-weight": 650, fill: GRID_INK, class: "over" }, "N"));
    const told = ["No land or roads are given.", ...(hull.length > 2 ? ["Dotted: outline of all sites."] : [])];
    told.forEach((text, i) => write(corner.x + 46, corner.y + size.y - 40 + 14 * i, text, "start"));
    group.replaceChildren(...ruled, ...lines, ...named, north);
  };
  map.on("zoomend viewreset moveend resize", draw);
  draw();
}
