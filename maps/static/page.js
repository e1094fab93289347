/* The page of one plan: a pane, and around it strip, panel, tables, print. */
const byId = (id) => document.getElementById(id);
const plan = readPlan(JSON.parse(byId("data").textContent));
const card = byId("card");
let updates = [];
const pane = mapPane(plan, byId("map"), {
  label: `Map of ${shorten(plan.name, 80)}`,
  onset: () => updates.forEach((update) => update()),
  onlabel: ({ unnamed }) => {
    const note = byId("unnamed");
    if (note) note.textContent = unnamed ? `No room for ${figure(unnamed, 0)} ${unnamed === 1 ? "name" : "names"}: zoom in, or see the tables.` : "";
  },
  onselect: (chosen, focus) => {
    parent.postMessage({ chosen: chosen?.id }, "*");
    if (!chosen) {
      if (focus) pane.root.focus({ preventScroll: true });
      return;
    }
    document.querySelector(".panel").scrollTop = 0;
    const below = card.getBoundingClientRect().top - (window.innerHeight - 230);
    if (below > 0) window.scrollBy(0, below);
    if (focus) card.focus({ preventScroll: true });
  },
});

let first = { center: pane.map.getCenter(), zoom: pane.map.getZoom() };

/* One sentence on the map: what is shown, for eyes and screen readers alike. */
function hint() {
  const { state } = pane, on = plan.materials.filter((m) => state.materials.has(m.code));
  const hauled = sum(plan.open.map((yard) => sum(intakeOf(pane, yard).map((p) => p.value))));
  const only = on.length === plan.materials.length ? "" : on.length ? `, ${new Intl.ListFormat("en").format(on.map((m) => shorten(m.name, 30)))} only` : ", no feedstock shown";
  byId("hint").textContent = `${pane.periodName()}: ${tonnes(hauled)} hauled to yards${only}`;
}
function notes() {
  byId("notes").append(h("p", {}, "Quantities are tonnes as received (wet). Plan: ", plan.status, "."), h("p", {}, "Distances: ", name(plan.travel), ". Every figure's origin: plan.xlsx, sheet lineage."),
    ...plan.cautions.map((text) => h("p", {}, text)), h("p", {}, plan.tiles ? "Drawn with Leaflet 1.9.4. Nothing is loaded from a network unless you switch the online map on." : "Drawn with Leaflet 1.9.4 from the data in this file; nothing is loaded from a network."));
}

/* Print: the map gets the size of the sheet and is drawn again as lines, then goes back. */
function printing() {
  let view = null;
  window.addEventListener("beforeprint", () => {
    view = { center: pane.map.getCenter(), zoom: pane.map.getZoom(), bounds: pane.map.getBounds() };
    document.body.classList.add("printing");
    pane.map.invalidateSize({ animate: false, pan: false });
    if (view.center.equals(first.center) && view.zoom === first.zoom) pane.fit();
    else pane.map.fitBounds(view.bounds, { animate: false });
    pane.redraw();
    updates.forEach((update) => update());
  });
  window.addEventListener("afterprint", () => {
    document.body.classList.remove("printing");
    pane.map.invalidateSize({ animate: false, pan: false });
    if (view) pane.map.setView(view.center, view.zoom, { animate: false });
    pane.redraw();
    updates.forEach((update) => update());
  });
  byId("print").addEventListener("click", () => window.print());
}

updates = [makeStrip(byId("strip"), pane), makeControls(byId("layers"), pane), () => showCard(card, pane), () => showLegend(byId("legend"), pane), hint];
makeSearch(byId("find"), byId("hits"), pane);
makeTables(byId("tables"), byId("show-tables"), pane);
notes();
printing();
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && pane.state.chosen && !byId("tables").open) pane.select(null, card.contains(document.activeElement));
});
addEventListener("message", ({ source, data }) => {
  if (source === parent && data?.choose) pane.select(String(data.choose));
});
updates.forEach((update) => update());
const whole = () => {
  pane.fit();
  first = { center: pane.map.getCenter(), zoom: pane.map.getZoom() };
};
/* Until somebody moves the map it shows the whole district, whatever size a window or frame gets. */
pane.map.on("resize", () => {
  const off = pane.map.latLngToContainerPoint(first.center).distanceTo(pane.map.getSize().divideBy(2));
  if (!document.body.classList.contains("printing") && pane.map.getZoom() === first.zoom && off < 8) whole();
});
pane.map.invalidateSize({ animate: false, pan: false });
whole();
window.addEventListener("resize", () => showLegend(byId("legend"), pane));
window.loamhaul = { pane, setPeriod: pane.setPeriod, select: pane.select, set: pane.set, ready: performance.now() };
