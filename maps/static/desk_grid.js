/*
 * gridView(wrap, options) shows a model (desk_grid_model.js) as a grid: only the rows in
 * sight are elements. Everything a cell holds becomes text, never markup.
 *   options.onselect()   after the selection has moved
 *   options.onsay(text)  something a person should be told
 *   view.show(model), view.refresh(), view.select(row, column), view.mark(faults)
 * Rows and columns of the view count as shown; row -1 are the headings, and the row after
 * the last takes a new one.
 */
const ROW_HEIGHT = 28, OVERSCAN = 6, NUMBER_WIDTH = 52, HEADING = -1;
const NUMERIC = ["number", "percent", "integer", "lon", "lat"];
const NOT_LOCAL = "default, not local";

function gridView(wrap, options) {
  const sheet = h("div", { class: "sheet", id: "sheet", role: "grid", tabindex: 0, "aria-multiselectable": "true", "aria-describedby": "keys-help" });
  const head = h("div", { role: "rowgroup", class: "head" }), body = h("div", { role: "rowgroup", class: "body" });
  sheet.append(head, body);
  wrap.replaceChildren(sheet);
  const view = {
    wrap, sheet, head, body, options, model: null, faults: new Map(), lines: new Map(), spare: [], widths: [], lefts: [],
    sel: { ar: 0, ac: 0, r: 0, c: 0 }, editor: null,
  };
  view.rowCount = () => view.model.view.length;
  view.lastRow = () => (view.model.viewOnly ? Math.max(0, view.rowCount() - 1) : view.rowCount());
  view.base = (r) => (r >= 0 && r < view.rowCount() ? view.model.view[r] : view.model.cells.length);
  view.column = (c) => view.model.columns[view.model.shown[c]];
  view.textAt = (r, c) => (r >= 0 && r < view.rowCount() ? view.model.text(view.model.view[r], view.model.shown[c]) : "");
  view.block = () => {
    const { ar, ac, r, c } = view.sel;
    return { top: Math.min(ar, r), bottom: Math.max(ar, r), left: Math.min(ac, c), right: Math.max(ac, c) };
  };
  view.show = (model) => {
    view.model = model;
    view.sel = { ar: 0, ac: 0, r: 0, c: 0 };
    sheet.scrollTo(0, 0);
    view.refresh(true);
  };
  /* Draw again; `columns` if the columns shown are others. */
  view.refresh = (columns) => {
    if (columns || view.lines.size === 0) layColumns(view);
    body.style.height = `${(view.lastRow() + 1) * ROW_HEIGHT}px`;
    sheet.setAttribute("aria-rowcount", view.rowCount() + 1 + (view.model.viewOnly ? 0 : 1));
    sheet.setAttribute("aria-colcount", view.model.shown.length + 1);
    clampSelection(view);
    paint(view, true);
  };
  view.mark = (faults) => { view.faults = faults; paintHead(view); paint(view, true); };
  view.select = (r, c, extend) => {
    const to = { r: Math.max(HEADING, Math.min(r, view.lastRow())), c: Math.max(0, Math.min(c, view.model.shown.length - 1)) };
    view.sel = extend ? { ...view.sel, ...to } : { ar: to.r, ac: to.c, ...to };
    intoSight(view, to.r, to.c);
    paint(view);
    options.onselect();
  };
  let asked = 0;
  sheet.addEventListener("scroll", () => {
    if (!asked) asked = requestAnimationFrame(() => { asked = 0; paint(view); if (view.editor) view.editor.place(); });
  }, { passive: true });
  new ResizeObserver(() => view.model && paint(view)).observe(sheet);
  listenToKeys(view);
  listenToMouse(view);
  listenToClipboard(view);
  return view;
}

function clampSelection(view) {
  const { sel } = view, lastC = Math.max(0, view.model.shown.length - 1);
  for (const key of ["ar", "r"]) sel[key] = Math.max(HEADING, Math.min(sel[key], view.lastRow()));
  for (const key of ["ac", "c"]) sel[key] = Math.max(0, Math.min(sel[key], lastC));
}

/* Widths from headings and a look at the first rows; the key stays in sight. */
function layColumns(view) {
  const { model } = view;
  for (const line of view.lines.values()) line.remove();
  view.lines.clear();
  view.spare = [];
  const font = getComputedStyle(view.sheet).fontFamily, plain = `13px ${font}`, bold = `650 13px ${font}`;
  view.widths = model.shown.map((place, c) => {
    const column = model.columns[place];
    const texts = model.cells.slice(0, 150).map((row) => shorten(row[place], 40));
    const widest = Math.max(textWidth(column.heading, bold) + (column.required ? 44 : 34), Math.min(150, textWidth(column.unit, `11px ${font}`) + 34), ...texts.map((text) => textWidth(text, c === 0 && column.key ? bold : plain) + 18), textWidth(column.default, plain) + 18);
    return model.wide.get(place) || Math.round(Math.max(68, Math.min(widest, column.kind === "text" ? 220 : 200)));
  });
  let left = NUMBER_WIDTH;
  view.lefts = view.widths.map((width) => { left += width; return left - width; });
  view.total = left;
  view.frozen = model.columns[model.shown[0]] && model.columns[model.shown[0]].key ? 1 : 0;
  view.body.style.width = view.head.style.width = `${left}px`;
  view.head.replaceChildren(h("div", { role: "row", class: "gridline", "aria-rowindex": 1 },
    h("div", { role: "columnheader", class: "number corner", "aria-colindex": 1 }, h("span", { class: "unseen" }, "Row of the file")),
    ...model.shown.map((place, c) => heading(view, model.columns[place], c))));
}
function heading(view, column, c) {
  const sorted = view.model.sort && view.model.sort.column === column.place ? (view.model.sort.down ? "descending" : "ascending") : null;
  const cell = h("div", { role: "columnheader", id: `h-${c}`, "aria-colindex": c + 2, "data-c": c, class: "cell" + (c < view.frozen ? " frozen" : "") + (column.name ? "" : " note"), "aria-sort": sorted, title: column.note },
    h("span", { class: "heading" }, name(column.heading || "(no heading)"), column.required && h("span", { class: "must", title: "must be filled in" }, " *")),
    h("span", { class: "unit" }, column.unit || " "),
    h("span", { class: "sort", "data-sort": c, title: "Sort by this column (view only)", "aria-hidden": "true" }, sorted === "ascending" ? "▲" : sorted === "descending" ? "▼" : "↕"),
    h("span", { class: "edge", "data-edge": c, title: "Drag to make the column wider; press twice for its usual width", "aria-hidden": "true" }));
  sizeCell(view, cell, c);
  return cell;
}
function sizeCell(view, cell, c) {
  cell.style.width = `${view.widths[c]}px`;
  if (c < view.frozen) cell.style.left = `${NUMBER_WIDTH}px`;
  else cell.style.marginLeft = "0";
}
/* Another width of a column; null for the usual one. [px] */
function widen(view, c, width) {
  const place = view.model.shown[c];
  if (width === null) view.model.wide.delete(place);
  else view.model.wide.set(place, Math.max(40, Math.min(900, Math.round(width))));
  view.refresh(true);
}
function paintHead(view) {
  [...view.head.querySelectorAll(".cell")].forEach((cell, c) => {
    const fault = view.faults.get(`${HEADING}:${view.model.shown[c]}`);
    cell.classList.toggle("faulty", Boolean(fault));
    cell.title = fault ? `${fault.said}. ${fault.remedy}.` : view.column(c).note;
  });
}

function line(view) {
  const cells = view.model.shown.map((place, c) => {
    const column = view.model.columns[place];
    const cell = h("div", { role: "gridcell", "aria-colindex": c + 2, "data-c": c });
    cell.kinds = "cell" + (NUMERIC.includes(column.kind) ? " n" : "") + (c < view.frozen ? " frozen" : "");
    sizeCell(view, cell, c);
    return cell;
  });
  const number = h("div", { role: "rowheader", class: "number", "aria-colindex": 1 });
  const element = h("div", { role: "row", class: "gridline" }, number, ...cells);
  return Object.assign(element, { number, cells });
}

/* Draw the rows in sight; only those that came into sight are written, unless `whole`. */
function paint(view, whole) {
  const { sheet, model, lines } = view;
  if (!model) return;
  const height = sheet.clientHeight || 400;
  const first = Math.max(0, Math.floor(sheet.scrollTop / ROW_HEIGHT) - OVERSCAN);
  const last = Math.min(view.lastRow(), Math.ceil((sheet.scrollTop + height) / ROW_HEIGHT) + OVERSCAN);
  for (const [r, element] of [...lines]) {
    if (r >= first && r <= last) continue;
    lines.delete(r);
    view.spare.push(element);
  }
  for (let r = first; r <= last; r += 1) {
    const known = lines.get(r);
    if (known && !whole) { dress(view, known, r); continue; }
    const element = known || view.spare.pop() || line(view);
    writeLine(view, element, r);
    dress(view, element, r);
    lines.set(r, element);
    if (element.parentNode !== view.body) view.body.append(element);
  }
  for (const element of view.spare) element.remove();
  const { r, c } = view.sel;
  [...view.head.querySelectorAll(".cell")].forEach((cell, i) => cell.classList.toggle("act", r === HEADING && i === c));
  sheet.setAttribute("aria-activedescendant", r === HEADING ? `h-${c}` : `g-${r}-${c}`);
}

function writeLine(view, element, r) {
  const { model } = view, base = view.base(r), fresh = r >= view.rowCount();
  element.style.top = `${r * ROW_HEIGHT}px`;
  element.setAttribute("aria-rowindex", r + 2);
  element.classList.toggle("fresh", fresh);
  element.number.textContent = fresh ? "+" : base + model.firstRow;
  element.number.title = fresh ? "Type here to add a row" : "";
  element.cells.forEach((cell, c) => {
    const place = model.shown[c], column = model.columns[place];
    const text = fresh ? "" : model.text(base, place), stands = !fresh && !text && model.defaultOf(base, place);
    const fault = !fresh && view.faults.get(`${base}:${place}`);
    const said = text || stands || "", title = fault ? `${fault.said}. ${fault.remedy}.` : stands ? NOT_LOCAL : "";
    cell.id = `g-${r}-${c}`;
    cell.plain = cell.kinds + (stands ? " default" : "") + (fault ? " faulty" : "");
    if (cell.said !== said) cell.textContent = said.length > 240 ? shorten(said, 240) : said;
    if (cell.title !== title) cell.title = title;
    if (cell.wrong !== Boolean(fault)) { if (fault) cell.setAttribute("aria-invalid", "true"); else cell.removeAttribute("aria-invalid"); }
    if (cell.stands !== stands) { if (stands) cell.setAttribute("aria-label", `${stands}, ${NOT_LOCAL}`); else cell.removeAttribute("aria-label"); }
    Object.assign(cell, { said, stands, wrong: Boolean(fault) });
  });
}
/* Selection and faults are only classes. */
function dress(view, element, r) {
  const { top, bottom, left, right } = view.block(), { ar, ac } = view.sel;
  const inside = r >= top && r <= bottom, single = top === bottom && left === right;
  element.number.classList.toggle("sel", inside);
  element.cells.forEach((cell, c) => {
    const chosen = inside && c >= left && c <= right, active = r === ar && c === ac;
    const classes = cell.plain + (chosen && !single ? " sel" : "") + (active ? " act" : "");
    if (cell.className !== classes) cell.className = classes;
    const told = chosen ? "true" : "false";
    if (cell.told !== told) cell.setAttribute("aria-selected", cell.told = told);
  });
}

function intoSight(view, r, c) {
  const { sheet } = view, high = view.head.offsetHeight, top = r * ROW_HEIGHT;
  const seen = sheet.clientHeight - high;
  if (r >= 0 && top < sheet.scrollTop) sheet.scrollTop = top;
  else if (r >= 0 && top + ROW_HEIGHT > sheet.scrollTop + seen) sheet.scrollTop = top + ROW_HEIGHT - seen + 1;
  if (c < view.frozen) return;
  const still = NUMBER_WIDTH + (view.frozen ? view.widths[0] : 0), left = view.lefts[c], right = left + view.widths[c];
  if (left - still < sheet.scrollLeft) sheet.scrollLeft = left - still;
  else if (right > sheet.scrollLeft + sheet.clientWidth) sheet.scrollLeft = Math.min(left - still, right - sheet.clientWidth + 1);
}

/* ---- edits of what is selected ---- */
function refuses(view) {
  if (view.model.viewOnly) view.options.onsay(view.model.viewOnly);
  return Boolean(view.model.viewOnly);
}
/* Put a block of texts down from a cell of the view on; rows are added where it needs them. */
function putBlock(view, r, c, block) {
  if (refuses(view) || !block.length) return;
  const { model } = view, edits = [];
  const room = model.shown.length - c, width = Math.max(...block.map((row) => row.length));
  const fit = width > room ? block.map((row) => row.slice(0, room)) : block;
  const here = fit.slice(0, view.rowCount() - r), more = fit.slice(here.length);
  if (here.length) edits.push(...blockEdits(model, r, c, here));
  if (more.length) {
    const rows = more.map((row) => {
      const blank = model.blank();
      row.forEach((text, i) => { blank[model.shown[c + i]] = text; });
      return blank;
    });
    edits.push({ rows: [model.cells.length, 0, rows] });
  }
  model.do(edits);
  if (width > room) view.options.onsay(`${width - room} ${width - room === 1 ? "column" : "columns"} did not fit and were left out.`);
}
const filledWith = (block, text) => Array.from({ length: block.bottom - block.top + 1 }, () => Array(block.right - block.left + 1).fill(text));
function clearBlock(view) {
  const block = view.block(), last = view.rowCount() - 1;
  if (block.top < 0 || block.top > last || refuses(view)) return;
  putBlock(view, block.top, block.left, filledWith({ ...block, bottom: Math.min(block.bottom, last) }, ""));
}
function fillDown(view) {
  const block = view.block(), last = Math.min(block.bottom, view.rowCount() - 1);
  const single = block.top >= last, from = single ? block.top - 1 : block.top;
  if (from < 0 || block.top < 0 || refuses(view)) return;
  const texts = [];
  for (let c = block.left; c <= block.right; c += 1) texts.push(view.textAt(from, c));
  const rows = single ? 1 : last - block.top;
  putBlock(view, from + 1, block.left, Array.from({ length: rows }, () => texts.slice()));
}
function addRow(view) {
  if (refuses(view)) return;
  const r = Math.min(view.block().bottom, view.rowCount() - 1), at = r < 0 ? 0 : view.base(r) + 1;
  view.model.do([{ rows: [at, 0, [view.model.blank()]] }]);
  view.select(Math.max(0, view.model.view.indexOf(at)), 0);
}
function deleteRows(view) {
  const { top, bottom } = view.block();
  if (top < 0 || refuses(view)) return;
  const rows = view.model.view.slice(top, bottom + 1).sort((a, b) => a - b);
  const edits = runsOf(rows).map(([from, count]) => ({ rows: [rows[from], count, []] })).reverse();
  view.model.do(edits);
  if (rows.length) view.options.onsay(`${rows.length} ${rows.length === 1 ? "row" : "rows"} deleted. Undo brings them back.`);
  view.select(top, view.sel.ac);
}
function sortColumn(view, c) {
  const { model } = view, column = model.shown[c], { sort } = model;
  model.sort = !sort || sort.column !== column ? { column, down: false } : sort.down ? null : { column, down: true };
  model.showRows();
  view.refresh(true);
  view.options.onsay(model.sort ? `Shown by ${view.column(c).heading}, ${model.sort.down ? "largest" : "smallest"} first. The file keeps its order.` : "Shown in the order of the file.");
}
