/* The land under the plan: sea, coast, rivers, roads, villages. */
const SEA = "#d3e3e6", LAND = "#f2efe3";
const inked = (fillColor, fillOpacity, color, weight, more) => ({ fillColor, fillOpacity, color, weight, ...more });
const LAND_STYLE = {
  land: inked(LAND, 1, "#8fa9ad", 1.2),
  water: inked(SEA, 1, "#8fa9ad", 1),
  river: { color: "#a3c4cf", weight: 2.4, fill: false },
  flood: inked("#b9d2d6", 0.5, "#8fb0b8", 0.8, { dashArray: "3 3" }),
  protected: inked("#cfdcb8", 0.65, "#9bb07a", 0.8),
  wood: inked("#dfe6cb", 0.8, "#bccaa0", 0.4),
  built: inked("#e4dccf", 0.9, "#cbbfae", 0.4),
  dwellings: inked("#dccfc0", 0.8, "#c2b29e", 0.6),
  village: inked("#d3c4b2", 0.9, "#b09e88", 0.6),
  well: inked("#2f6f8f", 1, "#2f6f8f", 0, { radius: 1.4 }),
  school: inked(PAPER, 1, "#7a5c3a", 1, { radius: 1.7 }),
  clinic: inked(PAPER, 1, "#9a2f1f", 1, { radius: 1.7 }),
  boundary: { fill: false, color: "#8b7f70", weight: 0.8, dashArray: "2 2" },
  district: { fill: false, color: "#a2937f", weight: 1, dashArray: "8 4 2 4" },
};
const POINT_STYLE = { radius: 3, color: "#8b7f70", weight: 1.2, fillColor: PAPER, fillOpacity: 1 };
const LAND_WORDS = { wood: "Wood", built: "Built-up land", flood: "Flood land", protected: "Protected land", dwellings: "Dwellings", well: "Well", school: "School", clinic: "Clinic", boundary: "Property line", district: "District border" };
const ROAD_STYLE = {
  paved_main: { color: "#b8a789", weight: 2.6 }, paved_local: { color: "#c5b79d", weight: 1.8 },
  gravel: { color: "#cdc1aa", weight: 1.3 }, earth: { color: "#cdc1aa", weight: 1.1, dashArray: "4 3" },
  town: { color: "#b8a789", weight: 2 }, ferry: { color: "#5f8d9e", weight: 1.8, dashArray: "2 5" },
};
const ROAD_WORDS = { paved_main: "Main road, paved", paved_local: "Local road, paved", gravel: "Gravel road", earth: "Earth road", town: "Street", ferry: "Ferry" };
/* Small marks are drawn from this zoom on: further out they would only be dust. */
const FINE_ZOOM = 12, FINE = ["well", "school", "clinic"];
const ORDER = ["land", "wood", "built", "district", "protected", "flood", "water", "river", "dwellings", "boundary", "village", "school", "clinic", "well"];

function drawBase(pane) {
  const { plan, map } = pane, renderer = L.svg({ padding: 1 });
  const still = { renderer, interactive: false };
  const solid = plan.land.some((f) => f.kind === "land");
  const frame = plan.frame && L.latLngBounds(plan.frame).extend(L.latLngBounds(plan.land.flatMap((f) => f.parts.flat()).concat(plan.frame)));
  pane.villages = [];
  pane.fine = L.layerGroup();
  if (solid && plan.frame) {
    L.rectangle(frame, { ...still, stroke: false, fillColor: SEA, fillOpacity: 1 }).addTo(map);
    pane.root.classList.add("framed");
  } else if (!solid) pane.root.classList.add("plain");
  for (const land of [...plan.land].sort((a, b) => ORDER.indexOf(a.kind) - ORDER.indexOf(b.kind))) drawLand(pane, land, still);
  for (const road of plan.roads) L.polyline(road.parts, { ...still, ...ROAD_STYLE[road.class] }).addTo(map);
  if (solid && plan.frame) L.rectangle(frame, { ...still, fill: false, color: "#8b7f70", weight: 1 }).addTo(map);
  const fine = () => { if (map.getZoom() >= FINE_ZOOM) pane.fine.addTo(map); else pane.fine.remove(); };
  map.on("zoomend", fine);
  fine();
  if (plan.sheet) drawSheet(pane);
  if (plan.tiles) pane.tiles = L.tileLayer(plan.tiles.address, { attribution: plan.tiles.credit, maxZoom: 17, opacity: 0.75, zIndex: 1 });
}

function drawLand(pane, land, still) {
  const style = { ...still, ...LAND_STYLE[land.kind] };
  const fine = FINE.includes(land.kind);
  for (const layer of landLayers(land, style)) layer.addTo(fine ? pane.fine : pane.map);
  if (!land.name || (land.kind !== "village" && land.kind !== "water")) return;
  const at = land.shape === "point" ? land.parts[0][0] : L.latLngBounds(land.parts.flat()).getCenter();
  pane.villages.push({ name: land.name, water: land.kind === "water", at });
}
function landLayers(land, style) {
  if (land.shape === "point") return land.parts.map(([at]) => L.circleMarker(at, { ...POINT_STYLE, ...style, radius: style.radius || POINT_STYLE.radius }));
  return [land.shape === "area" ? L.polygon(land.parts, style) : L.polyline(land.parts, style)];
}
/* The optional map from the internet: only if its address was set, and only on request. */
function showTiles(pane) {
  if (!pane.tiles) return;
  if (pane.state.tiles) pane.tiles.addTo(pane.map);
  else pane.tiles.remove();
  pane.root.classList.toggle("tiled", pane.state.tiles);
  pane.credit = pane.credit || pane.root.appendChild(h("p", { class: "credit" }, name(pane.plan.tiles.credit)));
  pane.credit.hidden = !pane.state.tiles || !pane.plan.tiles.credit;
}
