/* Points of the map and rows of the grid: chosen, moved, added, judged (desk_district.js). */
const MAPPED = ["sources", "yards", "markets"];
const isMapped = (model) => MAPPED.includes(model.table);
const columnOf = (model, code) => model.columns.findIndex((column) => column.name === code);
const cellOf = (model, row, code) => model.text(row, columnOf(model, code));

function drawPoints() {
  const { model } = place, mapped = isMapped(model), points = [];
  if (mapped) {
    const [lat, lon] = ["lat", "lon"].map((code) => columnOf(model, code)), label = columnOf(model, "name"), key = model.keys[0];
    model.cells.forEach((cells, row) => {
      const at = [cells[lat], cells[lon]].map((text) => (text ? Number(text) : NaN));
      if (Math.abs(at[0]) <= 90 && Math.abs(at[1]) <= 360) points.push({ row, at, label: cells[label] || cells[key] });
    });
  }
  chart.points(model.table, points);
  const { ar } = grid.sel;
  if (mapped && ar >= 0) chart.choose(grid.base(ar), false);
  const others = Object.fromEntries(Object.entries(place.points).filter(([table]) => table !== model.table));
  chart.others(others);
}
async function drawGround() {
  const drawn = await askDesk(`${ADDRESS}/ground`);
  place.points = drawn.points;
  chart.ground(drawn);
  drawPoints();
  selected();
  drawNoGo();
}
function choosePoint(row) {
  const { model } = place;
  if (!model.view.includes(row)) { model.filter = byId("filter").value = ""; model.showRows(); grid.refresh(); }
  grid.select(model.view.indexOf(row), grid.sel.ac);
}

/* While a yard is dragged its place is judged; when it is let go the row is written. */
function movePoint(row, at, done) {
  const { model } = place;
  if (done) writePlace(row, at);
  else if (model.table === "yards") judge(row, at);
}
function writePlace(row, at) {
  const { model } = place;
  const edits = [["lat", at[0]], ["lon", at[1]]].map(([code, value]) => ({ set: [row, columnOf(model, code), [[value.toFixed(5)]]] }));
  model.do(edits);
  grid.select(model.view.indexOf(row), model.shown.indexOf(columnOf(model, "lat")));
}
function ask(what) {
  place.asked = what;
  chart.ask(Boolean(what));
  byId("place-row").setAttribute("aria-pressed", String(what === "row"));
  byId("add-point").setAttribute("aria-pressed", String(what === "new"));
  if (what) say("Press the place on the map. Escape leaves it. Or type lon and lat in the row.");
}
function putPoint(at) {
  const what = place.asked, { model } = place;
  ask(null);
  if (what === "row") { writePlace(grid.base(grid.sel.ar), at); return; }
  const blank = model.blank(), word = model.table.replace(/s$/, "");
  const codes = new Set(model.cells.map((cells) => cells[model.keys[0]]));
  let count = model.cells.length + 1;
  while (codes.has(`${word}_${count}`)) count += 1;
  blank[model.keys[0]] = `${word}_${count}`;
  blank[columnOf(model, "lat")] = at[0].toFixed(5);
  blank[columnOf(model, "lon")] = at[1].toFixed(5);
  const row = model.cells.length;
  model.do([{ rows: [row, 0, [blank]] }]);
  grid.select(model.view.indexOf(row), model.shown.indexOf(columnOf(model, "name")));
  grid.sheet.focus({ preventScroll: true });
}
byId("place-row").addEventListener("click", () => ask(place.asked === "row" ? null : "row"));
byId("add-point").addEventListener("click", () => ask(place.asked === "new" ? null : "new"));
byId("no-go").addEventListener("change", () => drawNoGo());

/* ---- what a yard meets at a place: the server's rules, one question at a time ---- */
const STATUS = { free: "No rule refuses this place", warned: "Allowed, with warnings", partly: "Refused for some feedstock", refused: "Refused" };
const YARD_CELLS = ["yard", "area_m2", "slope_pct", "water_table_m", "existing_size", "decision"];
const judging = { busy: false, next: null, mark: "" };
function judgeRow(row) {
  const { model } = place, box = byId("verdict");
  box.hidden = model.table !== "yards";
  if (box.hidden) { judging.mark = ""; chart.near([0, 0], []); return; }
  const at = ["lat", "lon"].map((code) => cellOf(model, row, code)), mark = [row, model.version, ...at, ...YARD_CELLS.map((code) => cellOf(model, row, code))].join("\n");
  if (judging.mark === mark) return;
  judging.mark = mark;
  if (at.some((text) => !text || !Number.isFinite(Number(text)))) {
    box.className = "verdict";
    box.replaceChildren(h("p", {}, "A yard with a position is held against the siting rules here."));
    chart.near([0, 0], []);
    return;
  }
  judge(row, at.map(Number));
}
async function judge(row, at) {
  judging.next = { row, at };
  if (judging.busy) return;
  judging.busy = true;
  while (judging.next) {
    const asked = judging.next, { model } = place;
    judging.next = null;
    const cells = Object.fromEntries(YARD_CELLS.map((code) => [code, cellOf(model, asked.row, code)]));
    try {
      const told = await askDesk(`${ADDRESS}/place`, { cells: { ...cells, lat: String(asked.at[0]), lon: String(asked.at[1]) } });
      if (told.fault) throw new Error(told.fault);
      if (place.model === model && model.table === "yards") showVerdict(asked.at, told);
    } catch (fault) {
      byId("verdict").className = "verdict";
      byId("verdict").replaceChildren(h("p", {}, fault.message));
      chart.near(asked.at, []);
    }
  }
  judging.busy = false;
}
function showVerdict(at, { status, reasons, near }) {
  const home = near.find((one) => ["dwellings", "a village", "a school", "a clinic"].includes(one.words)), well = near.find((one) => one.words === "a well");
  const told = [home, well].filter(Boolean);
  byId("verdict").hidden = false;
  byId("verdict").className = `verdict ${status}`;
  byId("verdict").replaceChildren(h("p", {}, h("b", {}, STATUS[status]), told.length ? ` · ${told.map((one) => `${one.words.replace(/^an? /, "")} ${figure(one.metres, 0)} m`).join(" · ")}` : ""),
    h("p", { class: "soft" }, "Planning screen, not law; local codes and licensed practice decide."),
    ...(reasons.length ? [h("ul", {}, ...reasons.map((one) => h("li", { class: one.action }, words(one.words))))] : []));
  chart.near(at, told);
}
async function drawNoGo() {
  const { model } = place, wanted = model && model.table === "yards";
  byId("no-go-label").hidden = !wanted;
  byId("no-go-key").hidden = !wanted || !byId("no-go").checked;
  if (!wanted || !byId("no-go").checked) { chart.noGo(null); return; }
  const areas = model.cells.map((cells) => Number(cells[columnOf(model, "area_m2")])).filter((value) => value > 0).sort((a, b) => a - b);
  const area = areas.length ? areas[Math.floor(areas.length / 2)] : 5000;
  try { chart.noGo(await askDesk(`${ADDRESS}/no-go?area_m2=${area}`)); } catch (fault) { chart.noGo(null); }
}
