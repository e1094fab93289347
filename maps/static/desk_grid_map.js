/*
 * gridMap(element, options) is the map beside the grid.
 *   map.ground(data)            draw land and roads, see map_ground of the server
 *   map.points(table, points)   rows that are points: [{ row, at, label }]
 *   map.others(lists)           points of the other tables: table -> [lat, lon, label]
 *   map.choose(row, move)       mark a row's point; `move` brings it into sight
 *   map.outline(wkt, move)      mark a road or a piece of land, as its cell draws it
 *   options.onchoose(row)       a point was pressed
 *   options.onmove(row, at, done)   a point is dragged; `done` when it is let go
 *   options.onplace(at)         a place was pressed after map.ask(true)
 */
const POINT_LOOKS = {
  sources: { radius: 4.5, fillColor: "#b06f06", color: PAPER, weight: 1 },
  markets: { radius: 4.5, fillColor: "#117a56", color: PAPER, weight: 1 },
  yards: { radius: 6.5, fillColor: INK, color: PAPER, weight: 1.5 },
};
const NO_GO_LOOKS = {
  partly: { fillColor: "#c27c0a", fillOpacity: 0.16, color: "#c27c0a", weight: 0.8, dashArray: "2 3" },
  refused: { fillColor: ALARM, fillOpacity: 0.2, color: ALARM, weight: 0.8 },
};
const MARK = "#2f5d3a";
/* Lines of positions that a shape in well-known text is made of; none if it cannot be read. */
function linesOf(wkt) {
  const lines = (wkt.match(/\([^()]+\)/g) || []).map((line) => line.slice(1, -1).split(",").map((pair) => pair.trim().split(/\s+/).map(Number)).map(([lon, lat]) => [lat, lon]));
  return lines.every((line) => line.every((at) => at.length === 2 && at.every(Number.isFinite))) ? lines : [];
}
const words = (text) => h("bdi", {}, text);

function gridMap(element, options) {
  const map = L.map(element, { zoomSnap: 0.25, zoomDelta: 0.5, wheelPxPerZoomLevel: 90, minZoom: 3, maxZoom: 17, attributionControl: false, zoomControl: false, zoomAnimation: false, fadeAnimation: false, markerZoomAnimation: false, keyboard: true });
  map.setView([0, 0], 8);
  L.control.zoom({ position: "topright", zoomInTitle: "Zoom in", zoomOutTitle: "Zoom out" }).addTo(map);
  const views = L.control({ position: "topright" });
  views.onAdd = () => {
    const press = (id, sign, title, work) => h("a", { href: "#map", role: "button", id, title, "aria-label": title, onclick: (event) => { event.preventDefault(); work(); } }, sign);
    const bar = h("div", { class: "leaflet-bar" },
      press("zoom-row", "◎", "Zoom to the chosen row", () => shown.closeUp()),
      press("zoom-all", "▣", "Show the whole district", () => { touched = false; fit(); }));
    L.DomEvent.disableClickPropagation(bar);
    return bar;
  };
  views.addTo(map);
  L.control.scale({ imperial: false, maxWidth: 110, position: "bottomright" }).addTo(map);
  element.setAttribute("role", "region");
  element.setAttribute("aria-label", "Map: press a point to choose its row, drag it to move it");
  for (const [pane, z] of [["nogo", 420], ["dots", 430], ["ways", 440]]) map.createPane(pane).style.zIndex = z;
  const base = Object.assign(L.layerGroup().addTo(map), { getZoom: () => map.getZoom() });
  map.on("zoomend", () => base.fire("zoomend"));
  const layers = { base, nogo: L.layerGroup().addTo(map), others: L.layerGroup().addTo(map), dots: L.layerGroup().addTo(map), ways: L.layerGroup().addTo(map), outline: L.layerGroup().addTo(map) };
  const dots = L.canvas({ pane: "dots", padding: 0.3, tolerance: 4 }), areas = L.svg({ pane: "nogo", padding: 0.5 }), ways = L.svg({ pane: "ways", padding: 0.5 });
  let whole = null, touched = false;
  const fit = () => whole && map.fitBounds(whole, { animate: false, padding: [40, 30], maxZoom: 14 });
  for (const kind of ["pointerdown", "wheel", "keydown"]) element.addEventListener(kind, () => { touched = true; }, { passive: true });
  const shown = { map, chosen: null, byRow: new Map(), table: "", fitted: false, asking: false };

  shown.ground = (data) => {
    layers.base.clearLayers();
    base.off("zoomend");
    const points = Object.values(data.points).flat().map(([lat, lon]) => [lat, lon]);
    const bounds = L.latLngBounds(points.length ? points : data.land.flatMap((one) => one.parts.flat()));
    const frame = bounds.isValid() ? [bounds.getSouthWest(), bounds.getNorthEast()] : null;
    drawBase({ plan: { ...data, frame, tiles: null }, map: base, root: element });
    if (!shown.fitted && bounds.isValid()) {
      shown.fitted = true;
      whole = bounds;
      fit();
    }
  };
  shown.others = (lists) => {
    layers.others.clearLayers();
    for (const [table, list] of Object.entries(lists)) {
      for (const [lat, lon, label] of list) L.circleMarker([lat, lon], { ...POINT_LOOKS[table], renderer: dots, fillOpacity: 0.45, opacity: 0.6, interactive: true }).bindTooltip(words(label)).addTo(layers.others);
    }
    /* All points stay in sight as rows are pasted, until somebody moves the map. */
    const here = L.latLngBounds([...layers.dots.getLayers(), ...layers.others.getLayers()].map((dot) => dot.getLatLng()));
    if (shown.fitted && !touched && here.isValid()) { whole = here; fit(); }
  };
  shown.points = (table, points) => {
    layers.dots.clearLayers();
    shown.byRow.clear();
    shown.table = table;
    for (const { row, at, label } of points) {
      const dot = L.circleMarker(at, { ...POINT_LOOKS[table], renderer: dots, fillOpacity: 1 }).bindTooltip(words(label));
      dot.on("click", (event) => { L.DomEvent.stopPropagation(event); if (shown.asking) options.onplace(rounded(event.latlng)); else options.onchoose(row); });
      shown.byRow.set(row, dot.addTo(layers.dots));
    }
    if (shown.chosen) shown.choose(shown.chosen.row, false);
  };
  shown.choose = (row, move) => {
    if (shown.chosen && shown.chosen.dragging) return;
    if (shown.chosen) shown.chosen.marker.remove();
    shown.chosen = null;
    const dot = shown.byRow.get(row);
    if (!dot) { layers.ways.clearLayers(); return; }
    const at = dot.getLatLng();
    const face = h("span", { class: "grip" });
    const marker = L.marker(at, { draggable: options.movable(), autoPan: true, keyboard: false, icon: L.divIcon({ className: `chosen-point ${shown.table}`, html: face, iconSize: [34, 34], iconAnchor: [17, 17] }) });
    marker.bindTooltip(words(dot.getTooltip().getContent().textContent), { direction: "top", offset: [0, -14], permanent: true, className: "chosen-name" });
    const mine = shown.chosen = { row, marker, dragging: false };
    marker.on("dragstart", () => { mine.dragging = true; });
    marker.on("drag", () => { dot.setLatLng(marker.getLatLng()); options.onmove(row, rounded(marker.getLatLng()), false); });
    marker.on("dragend", () => { mine.dragging = false; options.onmove(row, rounded(marker.getLatLng()), true); });
    marker.addTo(map);
    if (move && !map.getBounds().pad(-0.08).contains(at)) map.panTo(at, { animate: false });
  };
  shown.closeUp = () => {
    const drawn = layers.outline.getLayers()[0];
    touched = true;
    if (shown.chosen) map.setView(shown.chosen.marker.getLatLng(), 13.5, { animate: false });
    else if (drawn) map.fitBounds(drawn.getBounds(), { animate: false, padding: [30, 30], maxZoom: 15 });
  };
  shown.outline = (wkt, move) => {
    layers.outline.clearLayers();
    const lines = linesOf(wkt);
    if (!lines.length) return;
    const drawn = L.polyline(lines, { renderer: ways, pane: "ways", color: MARK, weight: 4, opacity: 0.85, interactive: false }).addTo(layers.outline);
    if (lines[0].length === 1) L.circleMarker(lines[0][0], { renderer: ways, pane: "ways", color: MARK, weight: 4, radius: 8, fill: false, interactive: false }).addTo(layers.outline);
    if (move && !map.getBounds().intersects(drawn.getBounds())) map.panTo(drawn.getBounds().getCenter(), { animate: false });
  };
  /* Lines to the nearest neighbours of a place, each with its metres. */
  shown.near = (at, near) => {
    layers.ways.clearLayers();
    for (const one of near) {
      L.polyline([at, one.at], { renderer: ways, pane: "ways", color: INK, weight: 1.4, dashArray: "4 3", interactive: false }).addTo(layers.ways);
      if (map.latLngToLayerPoint(at).distanceTo(map.latLngToLayerPoint(one.at)) < 46) continue;
      L.tooltip({ permanent: true, direction: "center", className: "metres", interactive: false }).setLatLng(middle(at, one.at)).setContent(words(`${one.words.replace(/^an? /, "")} ${figure(one.metres, 0)} m`)).addTo(layers.ways);
    }
  };
  shown.noGo = (shapes) => {
    layers.nogo.clearLayers();
    for (const kind of ["partly", "refused"]) {
      if (shapes && shapes[kind].length) L.polygon(shapes[kind], { ...NO_GO_LOOKS[kind], renderer: areas, pane: "nogo", interactive: false }).addTo(layers.nogo);
    }
  };
  shown.ask = (asking) => {
    shown.asking = asking;
    element.classList.toggle("asking", asking);
  };
  map.on("click", (event) => { if (shown.asking) options.onplace(rounded(event.latlng)); });
  new ResizeObserver(() => {
    map.invalidateSize({ animate: false, pan: false });
    if (!touched) fit();
  }).observe(element);
  return shown;
}
const rounded = ({ lat, lng }) => [Number(lat.toFixed(5)), Number(lng.toFixed(5))];
const middle = ([a, b], [c, d]) => [(a + c) / 2, (b + d) / 2];
