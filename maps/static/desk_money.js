/* The money: sliders re-price the same plan at once; a figure shows its ledger rows. */
"use strict";

const root = document.getElementById("money");
const MINUS = "\u2212";

/* Thousands apart and a real minus, as the page writes its figures. */
function written(value, digits = 0) {
  const text = Math.abs(value).toLocaleString("en-GB", { minimumFractionDigits: digits, maximumFractionDigits: digits });
  return value >= 0 || !/[1-9]/.test(text) ? text : MINUS + text;
}

function made(tag, text = "", kind = "") {
  const element = document.createElement(tag);
  element.textContent = text;
  if (kind) element.className = kind;
  return element;
}

function drawn(tag, values, text = "") {
  const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(values)) element.setAttribute(name, value);
  if (text) element.textContent = text;
  return element;
}

if (root) {
  const currency = root.dataset.currency;
  const form = document.getElementById("prices");
  const anew = document.getElementById("anew");
  const inputs = [...form.querySelectorAll("input[type=range]")];
  const moved = () => inputs.filter((one) => Number(one.value) !== Number(one.dataset.planned));
  document.getElementById("show").hidden = true;

  const words = (one) => {
    const value = Number(one.value);
    if ("rate" in one.dataset) return `${value} % a year`;
    if (!value) return "as planned";
    const change = `${value > 0 ? "+" : MINUS}${Math.abs(value)} %`;
    return one.dataset.base ? `${change}: ${written(one.dataset.base * (1 + value / 100), 2)} ${currency}/L` : change;
  };
  const query = (more = {}) => new URLSearchParams({ by: root.dataset.by, ...Object.fromEntries(moved().map((one) => [one.name, one.value])), ...more }).toString();

  /* Only one question is under way; the last state of the sliders is asked for next. */
  let busy = false, again = false;
  async function price() {
    if (busy) { again = true; return; }
    busy = true;
    try {
      const answer = await fetch(`${root.dataset.api}?${query()}`);
      if (answer.ok) show(await answer.json());
    } finally {
      busy = false;
      if (again) { again = false; price(); }
    }
  }

  function show({ cut, figures, planned_anew: title }) {
    const blocks = document.querySelectorAll("#sums > div");
    figures.forEach((row, n) => {
      const digits = row.unit.endsWith("/yr") ? 0 : 2;
      blocks[n].querySelector("[data-now]").textContent = written(row.now, digits);
      blocks[n].querySelector("[data-was]").textContent = row.now === row.was ? "as planned" : `planned ${written(row.was, digits)}`;
    });
    cut.rows.forEach((row, n) => {
      const cells = document.querySelectorAll(`#cut tr[data-row="${n}"] td.n`);
      fill(cells, row.cells, row.all, row.was);
    });
    fill(document.querySelectorAll("#cut tfoot td.n"), cut.totals.cells, cut.totals.all, cut.totals.was);
    bars(cut);
    document.getElementById("anew-button").disabled = !title;
    document.getElementById("anew-words").textContent = title || "Move a slider first.";
  }

  function fill(cells, values, all, was) {
    const [whole, apart, ...rest] = cells;
    whole.firstElementChild.textContent = written(all);
    values.forEach((value, n) => { rest[n].firstElementChild.textContent = written(value); });
    const more = Math.round(all - was);
    apart.textContent = Math.abs(all - was) > 0.5 ? `${more > 0 ? "+" : ""}${written(more)}` : "";
  }

  for (const one of inputs) {
    one.addEventListener("input", () => {
      document.getElementById(`o-${one.name}`).textContent = words(one);
      const hidden = anew.elements[one.name];
      if (hidden) hidden.value = Number(one.value) === Number(one.dataset.planned) ? "" : one.value;
      price();
    });
    document.getElementById(`o-${one.name}`).textContent = words(one);
  }
  document.getElementById("reset").addEventListener("click", (event) => {
    event.preventDefault();
    for (const one of inputs) {
      one.value = one.dataset.planned;
      one.dispatchEvent(new Event("input"));
    }
  });
  for (const link of document.querySelectorAll(".cuts a")) {
    link.addEventListener("click", () => {
      const address = new URL(link.href);
      for (const one of inputs) address.searchParams.delete(one.name);
      for (const one of moved()) address.searchParams.set(one.name, one.value);
      link.href = address;
    });
  }
  document.querySelector("#which select").addEventListener("change", (event) => event.target.form.requestSubmit());

  /* Totals of the columns: planned in outline, at these prices filled. */
  function bars(cut) {
    const figure = document.getElementById("bars");
    const { cells, was_cells: was } = cut.totals;
    figure.hidden = cells.length < 2 || cells.length > 40;
    if (figure.hidden) return;
    const wide = 760, tall = 150, foot = 20, left = 8;
    const most = Math.max(0, ...cells, ...was), least = Math.min(0, ...cells, ...was);
    const scale = (tall - foot - 14) / (most - least || 1), zero = 8 + most * scale;
    const each = (wide - 2 * left) / cells.length;
    const svg = drawn("svg", { viewBox: `0 0 ${wide} ${tall}`, role: "img", "aria-label": `Net cost ${cut.by === "period" ? "by month" : `by ${cut.by}`}, planned and at these prices; the table has the figures` });
    cells.forEach((value, n) => {
      const x = left + n * each, box = (v) => ({ y: v >= 0 ? zero - v * scale : zero, height: Math.max(0.5, Math.abs(v) * scale) });
      svg.append(drawn("rect", { x: x + each * 0.2, width: each * 0.6, ...box(value), class: value >= 0 ? "cost" : "income" }));
      svg.append(drawn("rect", { x: x + each * 0.12, width: each * 0.76, ...box(was[n]), class: "plan" }));
      const name = cut.columns[n].name, fits = Math.max(3, Math.floor(each / 6.6));
      svg.append(drawn("text", { x: x + each / 2, y: tall - 5, "text-anchor": "middle" }, name.length > fits ? `${name.slice(0, fits - 1)}…` : name));
    });
    svg.append(drawn("line", { x1: 0, x2: wide, y1: zero, y2: zero, class: "zero" }));
    const words = made("figcaption", "Net cost: filled at these prices (below the line: income), outline as planned.");
    figure.replaceChildren(svg, words);
  }

  /* A figure pressed: its rows, beneath the table. */
  const panel = document.getElementById("behind");
  document.getElementById("cut").addEventListener("click", async (event) => {
    const link = event.target.closest("a");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    const pressed = new URL(link.href).searchParams;
    const where = Object.fromEntries(["head", "name", "kind", "code"].filter((name) => pressed.has(name)).map((name) => [name, pressed.get(name)]));
    const answer = await fetch(`${root.dataset.api}/rows?${query({ behind: 1, ...where })}`);
    if (answer.ok) behind(await answer.json(), link);
  });

  function behind(told, link) {
    const close = made("button", "Close", "quiet-button");
    close.addEventListener("click", () => { panel.hidden = true; link.focus(); });
    const head = made("div", "", "over"), title = made("h2", "Rows of the ledger: ");
    title.append(made("bdi", told.title));
    head.append(title, close);
    const other = Math.abs(told.now - told.sum) > 0.005;
    const sum = made("p", `${told.count} ${told.count === 1 ? "row comes" : "rows come"} to ${written(told.sum, 2)} ${currency}/yr as planned${other ? `, ${written(told.now, 2)} at these prices` : ""}.${told.count > told.rows.length ? ` The ${told.rows.length} largest are shown; budget.xlsx has all.` : ""}`);
    const table = made("table"), top = table.createTHead().insertRow();
    const heads = [["Row", "n"], ["Account", ""], ["Line", ""], ["Place", ""], ["Month", ""], ["Quantity", "n"], ["Unit", ""], ["Rate", "n"], ["Amount of the row", "n"], ["In this figure", "n"], ...(other ? [["At these prices", "n"]] : [])];
    for (const [text, kind] of heads) {
      const cell = made("th", text, kind);
      cell.scope = "col";
      top.append(cell);
    }
    const body = table.createTBody();
    for (const r of told.rows) {
      const row = body.insertRow();
      const cells = [r.row, r.account, r.line, r.place, r.period === "year" ? "all year" : r.period, written(r.quantity, 2), r.unit, written(r.rate, 4), written(r.amount, 2), written(r.part, 2), ...(other ? [written(r.now, 2)] : [])];
      cells.forEach((text, n) => row.append(made("td", text, heads[n][1])));
    }
    const scroll = made("div", "", "scroll");
    scroll.tabIndex = 0;
    scroll.setAttribute("role", "region");
    scroll.setAttribute("aria-label", "Rows of the ledger");
    scroll.append(table);
    panel.replaceChildren(head, sum, scroll);
    panel.hidden = false;
    panel.focus({ preventScroll: true });
    panel.scrollIntoView({ block: "nearest" });
  }

  price();
}

/* How many trucks to own: followed while it is reckoned, shown when it is there. */
const fleet = document.getElementById("fleet");
async function followFleet() {
  let words = "";
  try {
    const answer = await fetch(fleet.dataset.api);
    if (answer.ok) {
      const told = await answer.json();
      if (!["waiting", "running"].includes(told.state)) { location.reload(); return; }
      if (told.words) document.getElementById("fleet-words").textContent = told.words;
      words = told.count;
    }
  } catch {
    words = "The desk does not answer. Start it again; what is being reckoned goes on.";
  }
  if (words) document.getElementById("fleet-count").textContent = words;
  setTimeout(followFleet, 800);
}
if (fleet && ["waiting", "running"].includes(fleet.dataset.state)) followFleet();
