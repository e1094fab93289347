/*
 * A table of texts as the grid edits it: no element of the page is touched here.
 *
 * gridModel(data) makes one from what the server tells of a table:
 *   model.cells            rows of texts, in the order of the file
 *   model.columns          see shown_columns; `place` is its position in the file
 *   model.shown            positions of the columns that are shown, in order
 *   model.view             positions of the rows that are shown, in order
 *   model.apply(edits)     do edits and return those that undo them
 *   model.do(edits), undo(), redo()   the same with a memory, which begins with the steps
 *                          that the draft remembers; `model.onedit(edits, turn)` is called
 *                          with all that is done; turn is "undo", "redo" or nothing
 * An edit is {set: [row, column, block]} or {rows: [at, removed, block]}.
 */
const MOST_UNDO = 500;

function gridModel(data) {
  const model = {
    ...data, cells: data.cells, past: data.past || [], future: data.future || [], view: [], shown: [], filter: "", sort: null, all: false, wide: new Map(), onedit: () => {},
    filledBy: new Map(data.filled.map(([key, column, text]) => [key + "\n" + column, text])),
  };
  model.columns.forEach((column, place) => Object.assign(column, { place }));
  model.keys = model.columns.filter((column) => column.key).map((column) => column.place);

  model.showColumns = () => {
    const used = (column) => column.inFile || column.required || model.cells.some((row) => row[column.place]);
    model.shown = model.columns.filter((column) => model.all || used(column)).map((column) => column.place);
    model.hidden = model.columns.length - model.shown.length;
  };
  model.showRows = () => {
    const words = model.filter.toLowerCase().split(/\s+/).filter(Boolean);
    const fits = (row) => words.every((word) => row.some((text) => text.toLowerCase().includes(word)));
    model.view = [...model.cells.keys()].filter((at) => !words.length || fits(model.cells[at]));
    if (model.sort) model.view.sort(sortBy(model, model.sort));
  };
  model.apply = (edits) => edits.map((edit) => applyEdit(model, edit)).reverse();
  model.do = (edits) => {
    if (!edits.length) return;
    model.past.push({ edits, back: model.apply(edits) });
    if (model.past.length > MOST_UNDO) model.past.shift();
    model.future = [];
    model.onedit(edits);
  };
  model.undo = () => turn(model, model.past, model.future, "back", "undo");
  model.redo = () => turn(model, model.future, model.past, "edits", "redo");
  model.text = (row, column) => (model.cells[row] ? model.cells[row][column] : "");
  model.blank = () => model.columns.map(() => "");
  model.keyOf = (row) => model.keys.map((place) => model.text(row, place)).join(" ");
  /* What a blank cell holds: the default of its column, or the library's figure. */
  model.defaultOf = (row, place) => {
    const column = model.columns[place];
    return (row < model.cells.length && model.filledBy.get(model.keyOf(row) + "\n" + column.name)) || column.default;
  };
  model.showColumns();
  model.showRows();
  return model;
}

function turn(model, from, to, which, name) {
  const step = from.pop();
  if (!step) return null;
  const edits = step[which];
  model.apply(edits);
  to.push(step);
  model.onedit(edits, name);
  return edits;
}

function applyEdit(model, edit) {
  const { cells } = model;
  if (edit.set) {
    const [row, column, block] = edit.set;
    const before = block.map((line, i) => cells[row + i].slice(column, column + line.length));
    block.forEach((line, i) => {
      const fresh = cells[row + i].slice();
      line.forEach((text, j) => { fresh[column + j] = text; });
      cells[row + i] = fresh;
    });
    return { set: [row, column, before] };
  }
  const [at, removed, block] = edit.rows;
  const before = cells.slice(at, at + removed);
  model.cells = cells.slice(0, at).concat(block, cells.slice(at + removed));
  moveView(model, at, removed, block.length);
  return { rows: [at, block.length, before] };
}

/* New rows are shown where they were put in, whatever the filter; nothing else moves. */
function moveView(model, at, removed, added) {
  const fresh = Array.from({ length: added }, (_, i) => at + i);
  const kept = model.view.filter((row) => row < at || row >= at + removed).map((row) => (row < at ? row : row + added - removed));
  const before = model.view.findIndex((row) => row >= at && row < at + removed);
  const above = kept.indexOf(at - 1);
  let place = before >= 0 ? Math.min(before, kept.length) : above >= 0 ? above + 1 : kept.indexOf(at + added);
  if (place < 0) place = at === 0 ? 0 : kept.length;
  model.view = kept.slice(0, place).concat(fresh, kept.slice(place));
}

/* Numbers by size, texts by the alphabet, blanks last. */
function sortBy(model, { column, down }) {
  const text = (row) => model.cells[row][column], sign = down ? -1 : 1;
  const order = new Intl.Collator("en", { numeric: true, sensitivity: "base" }).compare;
  return (a, b) => {
    const x = text(a), y = text(b);
    if (!x || !y) return (x ? 0 : 1) - (y ? 0 : 1) || a - b;
    const p = Number(x), q = Number(y);
    const both = Number.isNaN(p) || Number.isNaN(q) ? order(x, y) : p - q;
    return sign * both || a - b;
  };
}

/* Edits that put texts into a block of the view: as few as the view allows. */
function blockEdits(model, top, left, block) {
  const width = Math.max(...block.map((line) => line.length));
  return placeEdits(model.view.slice(top, top + block.length), model.shown.slice(left, left + width), block);
}
/* The same for rows and columns by their positions in the file. */
function placeEdits(rows, columns, block) {
  const edits = [], runs = runsOf(columns);
  for (const [from, count] of runsOf(rows)) {
    for (const [first, width] of runs) {
      const lines = block.slice(from, from + count).map((line) => line.slice(first, first + width));
      if (lines.every((line) => line.length === width)) edits.push({ set: [rows[from], columns[first], lines] });
      else lines.forEach((line, i) => line.length && edits.push({ set: [rows[from] + i, columns[first], [line]] }));
    }
  }
  return edits;
}
/* Runs of numbers that count up by one: position of the first, and length. */
function runsOf(numbers) {
  const runs = [];
  numbers.forEach((number, i) => {
    if (i && number === numbers[i - 1] + 1) runs[runs.length - 1][1] += 1;
    else runs.push([i, 1]);
  });
  return runs;
}

/* Texts between tabs and line ends, as spreadsheet programs put them on the clipboard. */
function readBlock(text) {
  const rows = [[]];
  let cell = "", quoted = false, at = 0;
  const end = () => { rows[rows.length - 1].push(cell); cell = ""; };
  while (at < text.length) {
    const sign = text[at];
    if (quoted) {
      if (sign === '"' && text[at + 1] === '"') { cell += '"'; at += 1; }
      else if (sign === '"') quoted = false;
      else cell += sign;
    } else if (sign === '"' && cell === "" && closes(text, at)) quoted = true;
    else if (sign === "\t") end();
    else if (sign === "\n") { end(); rows.push([]); }
    else if (sign !== "\r" || text[at + 1] !== "\n") cell += sign === "\r" ? "\n" : sign;
    at += 1;
  }
  end();
  if (rows.length > 1 && rows[rows.length - 1].length === 1 && rows[rows.length - 1][0] === "") rows.pop();
  const width = Math.max(...rows.map((row) => row.length));
  return rows.map((row) => row.concat(Array(width - row.length).fill("")).map((text) => text.trim()));
}
/* Whether a quotation mark that opens a cell is closed at the end of one. */
function closes(text, at) {
  let next = at + 1;
  while ((next = text.indexOf('"', next)) >= 0) {
    if (text[next + 1] !== '"') return next + 1 === text.length || "\t\r\n".includes(text[next + 1]);
    next += 2;
  }
  return false;
}
function writeBlock(rows) {
  const cell = (text) => (/[\t\r\n]|^"/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  return rows.map((row) => row.map(cell).join("\t")).join("\r\n");
}

const plainName = (heading) => heading.toLowerCase().replaceAll("%", " pct ").replace(/[^\p{L}\p{N}]+/gu, "_").replace(/^_|_$/g, "");
/* A block whose first line are headings of the table is laid under them. */
function underHeadings(model, block) {
  const names = block[0].map(plainName);
  const places = names.map((text) => model.columns.findIndex((column) => column.name && column.name === text));
  if (names.length < 2 || places.some((place) => place < 0) || new Set(places).size < places.length) return null;
  return { places, body: block.slice(1) };
}
