/* Keys, mouse and clipboard of a grid (desk_grid.js): those of a spreadsheet program. */
const tabbing = { from: null };

/* Tab goes right, and on to the next row; Enter then goes back to where Tab began. */
function tabOn(view, step) {
  const { ar, ac } = view.sel, last = view.model.shown.length - 1, from = tabbing.from ?? ac;
  if (step > 0 && ac === last) view.select(Math.max(ar, 0) + 1, 0);
  else if (step < 0 && ac === 0) view.select(ar - 1, last);
  else view.select(ar, ac + step);
  tabbing.from = from;
}
function enterOn(view, step) {
  const { ar, ac } = view.sel, column = tabbing.from ?? ac;
  view.select(Math.max(0, ar + step), column);
  tabbing.from = null;
}
/* Where Ctrl with an arrow goes: the end of what is filled, or of what is blank. */
function edgeFrom(view, r, c, dr, dc) {
  const lastR = view.rowCount() - 1, lastC = view.model.shown.length - 1;
  const inside = (y, x) => y >= 0 && y <= lastR && x >= 0 && x <= lastC;
  const full = (y, x) => view.textAt(y, x) !== "";
  if (!inside(r + dr, c + dc)) return [r, c];
  const run = full(r, c) && full(r + dr, c + dc);
  do { r += dr; c += dc; } while (inside(r + dr, c + dc) && (run ? full(r + dr, c + dc) : !full(r, c)));
  return [r, c];
}
const STEPS = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };

function listenToKeys(view) {
  let leaving = false;
  const { sheet } = view;
  sheet.addEventListener("blur", () => { leaving = false; });
  sheet.addEventListener("keydown", (event) => {
    if (!view.model || event.target !== sheet || event.isComposing) return;
    const done = gridKey(view, event, leaving);
    leaving = event.key === "Escape";
    if (done) { event.preventDefault(); event.stopPropagation(); }
    if (STEPS[event.key] || /^(Home|End|Page)/.test(event.key)) tabbing.from = null;
  });
}

function gridKey(view, event, leaving) {
  const { key, shiftKey: shift, altKey: alt } = event, control = event.ctrlKey || event.metaKey;
  const { ar, ac, r, c } = view.sel, lastC = view.model.shown.length - 1, lastR = Math.max(0, view.rowCount() - 1);
  const [fromR, fromC] = shift ? [r, c] : [ar, ac], page = Math.max(1, Math.floor(view.sheet.clientHeight / ROW_HEIGHT) - 3);
  if (alt && key === "ArrowDown") { openEditor(view, picksFor(view, view.column(ac)).length ? "pick" : "edit"); return true; }
  if (alt && ar === HEADING && STEPS[key]) { widen(view, ac, view.widths[ac] + 20 * STEPS[key][1]); return true; }
  if (alt) return false;
  if (STEPS[key]) {
    const [dr, dc] = STEPS[key];
    const [y, x] = control ? edgeFrom(view, fromR, fromC, dr, dc) : [fromR + dr, fromC + dc];
    if (!shift || y >= 0) view.select(y, x, shift);
    return true;
  }
  if (control) return controlKey(view, key.toLowerCase(), shift, { ac, r, lastC, lastR, fromC });
  if (ar === HEADING && (key === "Enter" || key === " ")) { sortColumn(view, ac); return true; }
  switch (key) {
    case "Tab": {
      const out = leaving || (shift ? ar <= 0 && ac === 0 : ar >= view.lastRow() && ac === lastC);
      if (!out) tabOn(view, shift ? -1 : 1);
      return !out;
    }
    case "Enter": enterOn(view, shift ? -1 : 1); return true;
    case "Home": view.select(fromR, 0, shift); return true;
    case "End": view.select(fromR, lastC, shift); return true;
    case "PageUp": view.select(Math.max(0, fromR - page), fromC, shift); return true;
    case "PageDown": view.select(fromR + page, fromC, shift); return true;
    case "F2": openEditor(view, "edit"); return true;
    case "Delete": case "Backspace": clearBlock(view); return true;
    case "Escape": view.select(ar, ac); return true;
    case " ": if (shift) { view.sel = { ar, ac: 0, r, c: lastC }; paint(view); view.options.onselect(); return true; }
  }
  if (key.length === 1 || key === "Process" || key === "Dead") openEditor(view, "type");
  return false;
}

function controlKey(view, key, shift, { ac, r, lastC, lastR, fromC }) {
  const { model } = view;
  switch (key) {
    case "home": view.select(0, 0, shift); return true;
    case "end": view.select(lastR, lastC, shift); return true;
    case "a": view.sel = { ar: 0, ac: 0, r: lastR, c: lastC }; paint(view); view.options.onselect(); return true;
    case " ": view.sel = { ar: 0, ac, r: lastR, c: fromC }; paint(view); view.options.onselect(); return true;
    case "d": fillDown(view); return true;
    case "z": if (shift) redone(view, model.redo()); else redone(view, model.undo()); return true;
    case "y": redone(view, model.redo()); return true;
    case "enter": addRow(view); return true;
    case "delete": case "backspace": deleteRows(view); return true;
    default: return false;
  }
}
/* After undo and redo the cells they touched are selected. */
function redone(view, edits) {
  if (!edits) { view.options.onsay("Nothing to do."); return; }
  const edit = edits[0], row = (edit.set || edit.rows)[0];
  const r = view.model.view.indexOf(Math.min(row, Math.max(0, view.model.cells.length - 1)));
  const c = edit.set ? view.model.shown.indexOf(edit.set[1]) : view.sel.ac;
  view.select(Math.max(0, r), Math.max(0, c));
}

function listenToMouse(view) {
  const { sheet, body, head } = view;
  let dragging = "";
  const spot = (event) => {
    const cell = event.target.closest(".cell, .number"), row = event.target.closest(".body .gridline");
    if (!cell) return null;
    return { r: row ? Number(row.getAttribute("aria-rowindex")) - 2 : HEADING, c: cell.dataset.c === undefined ? null : Number(cell.dataset.c) };
  };
  const span = (from, to) => { view.sel = { ...view.sel, ...from, ...to }; paint(view); view.options.onselect(); };
  const lastR = () => Math.max(0, view.rowCount() - 1), lastC = () => view.model.shown.length - 1;
  sheet.addEventListener("pointerdown", (event) => {
    const at = event.button === 0 && spot(event);
    if (!at) return;
    if (view.editor) view.editor.close(true);
    sheet.focus({ preventScroll: true });
    tabbing.from = null;
    if (event.target.dataset.edge !== undefined) { dragEdge(view, Number(event.target.dataset.edge), event); return; }
    if (event.target.dataset.sort !== undefined) { sortColumn(view, Number(event.target.dataset.sort)); return; }
    if (event.pointerType === "mouse") event.preventDefault();
    if (at.c === null && at.r === HEADING) { dragging = ""; span({ ar: 0, ac: 0 }, { r: lastR(), c: lastC() }); }
    else if (at.c === null) { dragging = "rows"; span(event.shiftKey ? {} : { ar: at.r, ac: 0 }, { r: at.r, c: lastC() }); }
    else if (at.r === HEADING) { dragging = "columns"; span(event.shiftKey ? {} : { ar: 0, ac: at.c }, { r: lastR(), c: at.c }); }
    else { dragging = "cells"; view.select(at.r, at.c, event.shiftKey); }
  });
  sheet.addEventListener("pointermove", (event) => {
    if (!dragging || !(event.buttons & 1) || event.pointerType === "touch") { dragging = ""; return; }
    const at = spot(event);
    if (!at) return;
    if (dragging === "rows" && at.r >= 0) span({}, { r: at.r, c: lastC() });
    else if (dragging === "columns" && at.c !== null) span({}, { r: lastR(), c: at.c });
    else if (dragging === "cells" && at.r >= 0 && at.c !== null && (at.r !== view.sel.r || at.c !== view.sel.c)) view.select(at.r, at.c, true);
  });
  addEventListener("pointerup", () => { dragging = ""; });
  body.addEventListener("dblclick", (event) => { const at = spot(event); if (at && at.c !== null) openEditor(view, "edit"); });
  head.addEventListener("dblclick", (event) => { if (event.target.dataset.edge !== undefined) widen(view, Number(event.target.dataset.edge), null); });
}

function dragEdge(view, c, event) {
  const from = event.clientX, width = view.widths[c];
  let asked = 0, to = width;
  event.preventDefault();
  const move = (moved) => {
    to = width + moved.clientX - from;
    if (!asked) asked = requestAnimationFrame(() => { asked = 0; widen(view, c, to); });
  };
  addEventListener("pointermove", move);
  addEventListener("pointerup", () => removeEventListener("pointermove", move), { once: true });
}

function listenToClipboard(view) {
  const { sheet } = view;
  const mine = (event) => view.model && document.activeElement === sheet && view.sel.ar >= 0 && event.clipboardData;
  const copy = (event) => {
    if (!mine(event)) return false;
    const { top, bottom, left, right } = view.block(), rows = [];
    for (let r = top; r <= Math.min(bottom, Math.max(top, view.rowCount() - 1)); r += 1) {
      const row = [];
      for (let c = left; c <= right; c += 1) row.push(view.textAt(r, c));
      rows.push(row);
    }
    event.clipboardData.setData("text/plain", writeBlock(rows));
    event.preventDefault();
    view.options.onsay(rows.length * rows[0].length === 1 ? "Copied." : `Copied ${rows.length} × ${rows[0].length} cells.`);
    return true;
  };
  document.addEventListener("copy", copy);
  document.addEventListener("cut", (event) => { if (copy(event)) clearBlock(view); });
  document.addEventListener("paste", (event) => {
    if (!mine(event)) return;
    event.preventDefault();
    pasteText(view, event.clipboardData.getData("text/plain"));
  });
}

/* One cell fills the selection; a block with headings is laid under ours; else as it is. */
function pasteText(view, text) {
  if (!text || refuses(view)) return;
  const block = readBlock(text), chosen = view.block(), under = underHeadings(view.model, block);
  if (block.length === 1 && block[0].length === 1) {
    putBlock(view, chosen.top, chosen.left, filledWith(chosen, block[0][0]));
    return;
  }
  if (under && under.body.length) { pasteUnder(view, chosen.top, under); return; }
  putBlock(view, chosen.top, chosen.left, block);
  view.select(chosen.top, chosen.left);
  view.select(chosen.top + block.length - 1, chosen.left + block[0].length - 1, true);
  view.options.onsay(`Pasted ${block.length} × ${block[0].length} cells.`);
}
function pasteUnder(view, top, { places, body }) {
  const { model } = view, here = body.slice(0, view.rowCount() - top), more = body.slice(here.length);
  const edits = here.length ? placeEdits(model.view.slice(top, top + here.length), places, here) : [];
  if (more.length) {
    edits.push({ rows: [model.cells.length, 0, more.map((row) => {
      const blank = model.blank();
      places.forEach((place, j) => { blank[place] = row[j]; });
      return blank;
    })] });
  }
  model.do(edits);
  view.select(top, 0);
  view.options.onsay(`Pasted ${body.length} rows under their headings.`);
}
