/* The page of a district: tabs of tables, the grid, the map, the faults, saving. */
const ADDRESS = `${location.pathname.replace(/\/district\/?$/, "")}/api/district`;
const MAIN_TABS = 10;
const byId = (id) => document.getElementById(id);
const place = { tables: [], model: null, faults: [], doubts: [], accepted: [], checkedOnce: false, points: {}, area: null, judged: 0, coming: null, wished: null };

const grid = gridView(byId("wrap"), { onselect: selected, onsay: say });
const chart = gridMap(byId("map"), { onchoose: (row) => choosePoint(row), onmove: (...moved) => movePoint(...moved), onplace: (at) => putPoint(at), movable: () => place.model && !place.model.viewOnly });
const sync = deskSync(ADDRESS, { state: showKept, stale: (words) => { say(words); load(place.model.table); }, kept: afterKept, edited: afterEdit });
const checkSoon = settled(250, check), mapSoon = settled(120, () => drawPoints()), lookSoon = settled(150, overview), groundSoon = settled(700, () => drawGround());

/* ---- tables ---- */
async function overview() {
  const quiet = sync.quiet();
  let told;
  try { told = await askDesk(`${ADDRESS}/tables`); } catch (fault) { showKept("The desk does not answer. Is it still running?", true); return; }
  place.tables = told.tables;
  drawTabs();
  const mine = place.model && place.tables.find((one) => one.table === place.model.table);
  if (mine && quiet && sync.quiet() === quiet && mine.version !== place.model.version) {
    const saved = place.saving === mine.table;
    if (await load(mine.table, true) && !saved) say(`${mine.file} was read anew: another program or window has changed it.`);
    checkSoon();
  }
  place.saving = null;
  drawNotices();
  showKept();
}
const titleOf = (one) => `${one.name}${one.edited ? ", edited" : ""}`;
function drawTabs() {
  const counts = new Map();
  for (const fault of place.faults) counts.set(fault.table, (counts.get(fault.table) || 0) + 1);
  const here = place.model ? place.model.table : place.wished;
  const first = place.tables.slice(0, MAIN_TABS), rest = place.tables.slice(MAIN_TABS);
  const held = byId("tabs").contains(document.activeElement), shown = first.concat(rest.filter((one) => one.table === here));
  const tabs = shown.map((one) => drawTab(one, one.table === here, counts.get(one.table)));
  // a tab that stays is not put in anew: a press on it would be lost
  if (tabs.some((tab, i) => tab !== byId("tabs").children[i]) || tabs.length !== byId("tabs").children.length) byId("tabs").replaceChildren(...tabs);
  if (held) byId(`tab-${here}`).focus();
  const wrong = place.faults.filter((one) => one.setting !== null).length;
  byId("settings-faults").hidden = !wrong;
  byId("settings-faults").replaceChildren(String(wrong), h("span", { class: "unseen" }, wrong === 1 ? " fault" : " faults"));
  const more = byId("more"), picked = rest.some((one) => one.table === here) ? here : "";
  more.replaceChildren(h("option", { value: "" }, "More tables"), ...rest.map((one) => h("option", { value: one.table }, `${titleOf(one)} (${one.rows})${counts.get(one.table) ? ` – ${counts.get(one.table)} faults` : ""}`)));
  more.value = picked;
}
function drawTab(one, chosen, bad) {
  const tab = byId(`tab-${one.table}`) || h("button", { type: "button", role: "tab", id: `tab-${one.table}`, "aria-controls": "panel", onclick: () => open(one.table) });
  fill(tab, { "aria-selected": String(chosen), tabindex: chosen ? 0 : -1, title: one.file }, []);
  const marks = [one.edited && h("span", { class: "dot", title: "edited, not saved yet" }, " ●"), one.edited && h("span", { class: "unseen" }, " edited"),
    bad && h("span", { class: "badge" }, String(bad), h("span", { class: "unseen" }, bad === 1 ? " fault" : " faults"))];
  tab.replaceChildren(one.name, h("small", {}, ` ${one.rows}`), ...marks.filter(Boolean));
  return tab;
}
byId("tabs").addEventListener("keydown", (event) => {
  const tabs = [...byId("tabs").children], at = tabs.indexOf(document.activeElement);
  const to = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: tabs.length - 1 }[event.key];
  if (to === undefined || at < 0) return;
  event.preventDefault();
  tabs[(to + tabs.length) % tabs.length].click();
  tabs[(to + tabs.length) % tabs.length].focus();
});
byId("more").addEventListener("change", (event) => event.target.value && open(event.target.value));

async function open(table) {
  place.coming = table;
  if (place.model && place.model.table === table) return;
  if (grid.editor) grid.editor.close(true);
  while (!sync.idle()) await new Promise((done) => setTimeout(done, 40));
  await load(table);
}
/* Whether the table is shown as it came; what was edited meanwhile is never laid aside. */
async function load(table, stay) {
  if (!stay) place.coming = table;
  const kept = stay && place.model ? { ...grid.sel } : null, before = place.model, quiet = sync.quiet();
  const data = await askDesk(`${ADDRESS}/tables/${table}`);
  if (kept && sync.quiet() !== quiet) return false; // edited since: looked at again when that is kept
  while (!sync.idle()) await new Promise((done) => setTimeout(done, 40));
  if (place.coming !== table) return false; // another table was asked for since
  const model = gridModel(data);
  if (kept) {
    Object.assign(model, { filter: before.filter, all: before.all, wide: before.wide, sort: before.sort && { ...before.sort } });
    model.showColumns();
    model.showRows();
  }
  place.model = model;
  sync.take(model);
  byId("filter").value = model.filter;
  byId("all-columns").checked = model.all;
  byId("panel").setAttribute("aria-labelledby", `tab-${table}`);
  grid.sheet.setAttribute("aria-label", `${data.name}: ${data.file}`);
  history.replaceState(null, "", `#${table}`);
  grid.show(model);
  markFaults();
  if (kept) grid.select(kept.ar, kept.ac);
  else grid.select(0, 0);
  drawTabs();
  drawNotices();
  await drawGround();
  return true;
}

/* ---- what the selection says ---- */
function selected() {
  const { model } = place, { ar, ac } = grid.sel, column = grid.column(ac);
  if (!column) return;
  const base = grid.base(ar), fault = place.byCell && place.byCell.get(`${base}:${column.place}`);
  const fresh = ar >= grid.rowCount() && ar >= 0;
  byId("where").textContent = `${column.heading}${column.unit ? ` [${column.unit}]` : ""}${ar < 0 ? "" : fresh ? ", new row" : `, row ${base + model.firstRow}`}`;
  const text = ar >= 0 && !fresh ? model.text(base, column.place) : "", stands = ar >= 0 && !fresh && !text && model.defaultOf(base, column.place);
  const limits = column.low !== null && column.high !== null && column.kind !== "lon" && column.kind !== "lat" ? ` From ${number(column.low)} to ${number(column.high)}.` : "";
  const rest = [column.note ? `${column.note}.` : "", limits, stands ? ` Blank: ${stands} is used (${NOT_LOCAL}).` : "", column.choices.length || (column.picks && column.kind === "code") ? " Alt+Down shows the list." : ""].join("");
  byId("about").replaceChildren(fault ? h("span", { class: "wrong" }, `${fault.said}. ${fault.remedy}.`) : rest);
  const block = grid.block(), count = (block.bottom - block.top + 1) * (block.right - block.left + 1);
  byId("count").textContent = `${counted(grid.rowCount(), model.cells.length)}${count > 1 ? ` · ${sumOf(block)}` : ""}`;
  if (ar >= 0) chart.choose(fresh ? -1 : base, true);
  chart.outline(ar >= 0 && columnOf(model, "wkt") >= 0 ? cellOf(model, base, "wkt") : "", true);
  const located = chart.table === model.table && isMapped(model);
  byId("place-row").disabled = !located || ar < 0 || fresh || Boolean(model.viewOnly);
  byId("add-point").disabled = !located || Boolean(model.viewOnly);
  judgeRow(base);
}
const number = (value) => new Intl.NumberFormat("en", { maximumFractionDigits: 6 }).format(value);
const counted = (shown, all) => (shown === all ? `${number(all)} ${all === 1 ? "row" : "rows"}` : `${number(shown)} of ${number(all)} rows`);
function sumOf({ top, bottom, left, right }) {
  let sum = 0, numbers = 0, filled = 0;
  for (let r = Math.max(0, top); r <= Math.min(bottom, grid.rowCount() - 1); r += 1) {
    for (let c = left; c <= right; c += 1) {
      const text = grid.textAt(r, c);
      if (text) filled += 1;
      if (text && Number.isFinite(Number(text))) { sum += Number(text); numbers += 1; }
    }
  }
  return numbers > 1 ? `sum ${number(sum)}, mean ${number(sum / numbers)}, ${number(filled)} filled` : `${number(filled)} filled`;
}
/* Something is told for a while in place of the help on keys. */
function say(told) {
  byId("said").textContent = told;
  clearTimeout(place.hush);
  place.hush = setTimeout(() => { byId("said").textContent = ""; }, 9000);
}

/* ---- edits, faults, saving ---- */
function afterEdit() {
  grid.refresh();
  drawTabs();
  place.outcome = null;
  showKept();
  selected();
  mapSoon();
}
function afterKept() {
  lookSoon();
  checkSoon();
  if (["land", "roads"].includes(place.model.table)) groundSoon();
}
async function check() {
  if (!sync.idle()) return;
  let told;
  try { told = await askDesk(`${ADDRESS}/check`); } catch (fault) { return; }
  if (!sync.idle() || told.versions[place.model.table] !== place.model.version) return;
  const first = !place.checkedOnce;
  Object.assign(place, { faults: told.faults, doubts: told.doubts, accepted: told.accepted, checkedOnce: true });
  markFaults();
  drawTabs();
  if (first || place.wasBad !== told.faults.length > 0) drawNoGo();
  place.wasBad = told.faults.length > 0;
}
function markFaults() {
  const mine = place.faults.filter((one) => one.table === place.model.table && one.row !== null && one.column !== null);
  place.byCell = new Map();
  for (const one of mine) if (!place.byCell.has(`${one.row}:${one.column}`)) place.byCell.set(`${one.row}:${one.column}`, one);
  grid.mark(place.byCell);
  drawFaults();
  selected();
}
const MOST_FAULTS = 300;
function drawFaults() {
  const here = place.model.table, faults = [...place.faults].sort((a, b) => (b.table === here) - (a.table === here));
  const doubts = place.doubts, again = doubts.length ? `; ${doubts.length} to look at again` : "";
  const title = !place.checkedOnce ? "Checking …" : faults.length ? `${faults.length} ${faults.length === 1 ? "fault" : "faults"}: to be mended before a plan` : `No faults${again}`;
  byId("faults-title").textContent = title;
  byId("faults").classList.toggle("none", place.checkedOnce && !faults.length);
  byId("fault-list").replaceChildren(...[...faults, ...doubts].slice(0, MOST_FAULTS).map((one) => h("button", { type: "button", class: "fault-item", onclick: () => jump(one) }, h("b", {}, words(one.place)), h("span", {}, words(`${one.said}. ${one.remedy}.`)))),
    faults.length + doubts.length > MOST_FAULTS ? h("p", {}, `and ${faults.length + doubts.length - MOST_FAULTS} more`) : "",
    ...place.accepted.map((one) => h("p", { class: "accepted" }, words(`${one}.`))));
}
async function jump(fault) {
  if (fault.setting !== null) { location.assign(`${byId("to-settings").href}#f-${fault.setting}`); return; }
  if (!fault.table) return;
  await open(fault.table);
  const { model } = place;
  if (fault.column !== null && !model.shown.includes(fault.column)) { model.all = true; byId("all-columns").checked = true; model.showColumns(); grid.refresh(true); }
  if (fault.row !== null && fault.row >= 0 && !model.view.includes(fault.row)) { model.filter = byId("filter").value = ""; model.showRows(); grid.refresh(); }
  const r = fault.row === null ? 0 : fault.row < 0 ? HEADING : model.view.indexOf(fault.row);
  grid.select(r, fault.column === null ? 0 : model.shown.indexOf(fault.column));
  grid.sheet.focus({ preventScroll: true });
}
function showKept(told, bad) {
  const edited = place.tables.filter((one) => one.edited).length;
  const outcome = !told && sync.idle() && place.outcome && Date.now() < place.outcome.until ? place.outcome : {};
  const usual = !sync.idle() ? "Keeping your edits …" : edited ? `Edits in ${edited} ${edited === 1 ? "table" : "tables"} kept as a draft` : "Everything is saved";
  byId("kept").textContent = told || outcome.told || usual;
  byId("kept").classList.toggle("wrong", Boolean(bad || outcome.bad));
  byId("save").disabled = !edited && sync.idle();
  byId("undo").disabled = !place.model || !place.model.past.length;
  byId("add-library").hidden = !place.model || !usualRows(place.model).length;
  byId("redo").disabled = !place.model || !place.model.future.length;
}
/* How saving went stands until the next edit or for a while, whatever is looked at meanwhile. */
const saidFor = (told, bad) => ({ told, bad, until: Date.now() + 9000 });
async function save() {
  if (grid.editor) grid.editor.close(true);
  while (!sync.idle()) await new Promise((done) => setTimeout(done, 40));
  try {
    const { files } = await askDesk(`${ADDRESS}/save`, {});
    place.saving = place.model.table;
    place.outcome = saidFor(files.length ? `Saved: ${files.join(", ")}` : "Everything is saved", false);
    await overview();
  } catch (fault) {
    place.outcome = saidFor(fault.message, true);
    await overview();
    check();
  }
}

/* ---- another program has changed a file ---- */
function drawNotices() {
  const list = place.tables.filter((one) => one.overtaken);
  const notes = list.map((one) => h("div", { class: "notice", role: "alert" }, h("p", {}, words(one.file), " was changed by another program while you edited it here. Nothing is overwritten until you choose."),
    h("span", { class: "buttons" },
      h("button", { type: "button", onclick: () => showBoth(one) }, "See both"),
      h("button", { type: "button", onclick: () => keep(one, "mine") }, "Keep mine"),
      h("button", { type: "button", onclick: () => keep(one, "theirs") }, "Take theirs"))));
  const { model } = place;
  if (model && model.viewOnly) notes.push(h("div", { class: "notice calm" }, h("p", {}, words(model.viewOnly))));
  byId("notices").replaceChildren(...notes);
}
async function keep(one, which) {
  await askDesk(`${ADDRESS}/tables/${one.table}/choice`, { keep: which });
  byId("both").close();
  if (which === "theirs" && place.model.table === one.table) await load(one.table, true);
  await overview();
  checkSoon();
}
async function showBoth(one) {
  const { rows, more } = await askDesk(`${ADDRESS}/tables/${one.table}/both`), dialog = byId("both");
  const cells = (row) => [h("th", { scope: "row" }, words(row.place)), ...["column", "was", "mine", "theirs"].map((key) => h("td", {}, words(row[key])))];
  dialog.replaceChildren(h("h2", { id: "both-title" }, words(one.file), ": both versions"),
    h("div", { class: "both-table", tabindex: 0, role: "region", "aria-label": "Cells that differ" }, h("table", {}, h("thead", {}, h("tr", {}, ...["Row", "Column", "Before", "Mine", "Theirs"].map((text) => h("th", { scope: "col" }, text)))), h("tbody", {}, ...rows.map((row) => h("tr", {}, ...cells(row)))))),
    more ? h("p", {}, `and ${more} more cells`) : "",
    h("div", { class: "buttons" },
      h("button", { type: "button", onclick: () => keep(one, "mine") }, "Keep mine"),
      h("button", { type: "button", onclick: () => keep(one, "theirs") }, "Take theirs"),
      h("button", { type: "button", onclick: () => dialog.close() }, "Decide later")));
  dialog.showModal();
}

/* ---- the buttons, and keys that hold on the whole page ---- */
const press = { undo: () => redone(grid, place.model.undo()), redo: () => redone(grid, place.model.redo()), "add-row": () => addRow(grid), "delete-rows": () => deleteRows(grid), "fill-down": () => fillDown(grid) };
/* Rows of the library that the table does not have yet become rows of its own. */
const usualRows = ({ library, cells, keys }) => {
  const key = (row) => keys.map((place) => row[place]).join("\n"), own = new Set(cells.map(key));
  return library.filter((row) => !own.has(key(row)));
};
press["add-library"] = () => {
  const { model } = place, rows = usualRows(model).map((row) => row.concat(Array(model.columns.length - row.length).fill("")));
  model.do([{ rows: [model.cells.length, 0, rows] }]);
  model.showColumns();
  grid.refresh(true);
  say(`Added ${rows.length} rows. Change what is not yours, then save.`);
};
for (const [id, work] of Object.entries(press)) byId(id).addEventListener("click", () => { work(); grid.sheet.focus({ preventScroll: true }); });
byId("save").addEventListener("click", save);
const filterSoon = settled(120, async () => {
  place.model.filter = byId("filter").value;
  place.model.showRows();
  grid.sheet.scrollTop = 0;
  grid.refresh();
  grid.select(0, grid.sel.ac);
});
byId("filter").addEventListener("input", filterSoon);
byId("all-columns").addEventListener("change", (event) => {
  place.model.all = event.target.checked;
  place.model.showColumns();
  grid.refresh(true);
  grid.select(Math.max(0, grid.sel.ar), 0);
});
addEventListener("keydown", (event) => {
  const control = event.ctrlKey || event.metaKey, key = event.key.toLowerCase();
  if (control && key === "s") { event.preventDefault(); save(); }
  else if (control && key === "f" && !event.shiftKey) { event.preventDefault(); byId("filter").focus(); byId("filter").select(); }
  else if (event.key === "F6") {
    event.preventDefault();
    const stops = [grid.sheet, byId("map"), byId("faults")], at = stops.findIndex((stop) => stop.contains(document.activeElement));
    stops[(at + (event.shiftKey ? stops.length - 1 : 1)) % stops.length].focus();
  } else if (event.key === "Escape" && chart.asking) ask(null);
});
addEventListener("focus", () => lookSoon());
setInterval(() => document.hidden || lookSoon(), 5000);

addEventListener("DOMContentLoaded", async () => {
  await overview();
  const wished = location.hash.slice(1);
  await load(place.tables.some((one) => one.table === wished) ? wished : "sources");
  grid.sheet.focus({ preventScroll: true });
  await overview();
  await check();
  drawNoGo();
});
addEventListener("hashchange", () => { const wished = location.hash.slice(1); if (place.tables.some((one) => one.table === wished)) open(wished); });
