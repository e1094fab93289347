/* The map as tables, each to read or to save as a file for a spreadsheet. */
const MOST_ROWS = 300;

/* Tables of the plan: title, columns [heading, value, kind], rows. */
function planTables(pane) {
  const { plan } = pane, currency = plan.currency, months = (of, unit) => plan.periods.map((period, i) => [`${period.name} [${unit}]`, (x) => of(x)[i]]);
  const material = (x) => plan.material.get(x.material).name, total = (of) => (x) => sum(of(x));
  const district = [...plan.yards, ...plan.sources, ...plan.markets].some((x) => x.area) ? [["district", (x) => x.area]] : [];
  const intake = (yard) => plan.periods.map((_, i) => sum([...yard.intake.values()].map((list) => list[i])));
  return [
    { id: "yards", title: "Yards", rows: plan.open, columns: [["yard", (x) => x.name], ["code", (x) => x.code], ...district, ["status", (x) => STATUS[x.status]], ["size", (x) => x.size], ["taken in [t/yr]", total(intake)], ["compost ready [t/yr]", total((x) => x.made)], ["lowest C:N", (x) => least(x.cn, 1)], ["highest C:N", (x) => least(x.cn, -1)], ["lowest moisture [%]", (x) => least(x.moisture, 1)], ["highest moisture [%]", (x) => least(x.moisture, -1)], ...months(intake, "t in")] },
    { id: "sites", title: "Sites without a yard", rows: plan.yards.filter((x) => !x.intake), columns: [["site", (x) => x.name], ["code", (x) => x.code], ...district, ["status", (x) => STATUS[x.status]], ["land screening", (x) => x.screening.map(([outcome, text]) => `${outcome}: ${text}`).join("; ")]] },
    { id: "sources", title: "Sources", rows: plan.sources, columns: [["source", (x) => x.name], ["code", (x) => x.code], ...district, ["feedstock", material], ["supply [t/yr]", total((x) => x.supply)], ["collected [t/yr]", total((x) => x.collected)], ["left uncollected [t/yr]", total((x) => x.uncollected)], [`one more tonne, mean [${plan.worth}/t]`, (x) => worthOf({ ...pane, state: { period: WHOLE } }, x)], ...months((x) => x.collected, "t collected")] },
    { id: "markets", title: "Markets", rows: plan.markets, columns: [["market", (x) => x.name], ["code", (x) => x.code], ...district, ["crop", (x) => x.crop], ["asked for [t/yr]", total((x) => x.demand)], ["delivered [t/yr]", total((x) => x.delivered)], ...months((x) => x.delivered, "t delivered")] },
    { id: "lanes", title: "Haulage", rows: plan.lanes, columns: [["from", (x) => x.start.name], ["to", (x) => x.end.name], ["material", material], ["one way [km]", (x) => x.km], ["trips [1/yr]", (x) => x.trips], [`haulage [${currency}/yr]`, (x) => x.money], ["hauled [t/yr]", (x) => x.year], ...months((x) => x.t, "t")] },
    { id: "roads", title: "Roads", rows: plan.roads.filter((x) => x.loaded).sort((a, b) => load(b) - load(a)), columns: [["road", (x) => x.name], ["code", (x) => x.code], ["class", (x) => ROAD_WORDS[x.class] || x.class], ["carried [t/yr]", load], ["loaded trips [1/yr]", (x) => sum(x.trips)], ["empty trips [1/yr]", (x) => sum(x.empty)], ...months((x) => plan.periods.map((_, i) => sum([...x.load.values()].map((list) => list[i]))), "t")] },
  ].filter((table) => table.rows.length);
}
const load = (road) => sum([...road.load.values()].map(sum));
const least = (values, side) => {
  const known = values.filter((v) => v !== null).map((v) => v * side);
  return known.length ? Math.min(...known) * side : null;
};

/* Comma separated values; a text a spreadsheet would take for a formula gets a '. */
function csv({ columns, rows: list }) {
  const cell = (value) => {
    if (value === null || value === undefined) return "";
    if (typeof value === "number") return String(Math.round(value * 1000) / 1000);
    const text = /^[=+\-@\t\r]/.test(value) ? "'" + value : value;
    return /[",\n\r]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  };
  return "\ufeff" + [columns.map(([heading]) => heading), ...list.map((row) => columns.map(([, of]) => of(row)))].map((line) => line.map(cell).join(",")).join("\r\n") + "\r\n";
}
function save(table) {
  const address = URL.createObjectURL(new Blob([csv(table)], { type: "text/csv" }));
  const link = h("a", { href: address, download: `${table.id}.csv` });
  document.body.append(link);
  link.click();
  link.remove();
  window.setTimeout(() => URL.revokeObjectURL(address), 10000);
}

function makeTables(dialog, button, pane) {
  const list = planTables(pane), body = h("div", { class: "table-body", id: "table-body", role: "tabpanel", tabindex: "0" });
  const tabs = h("div", { class: "tabs", role: "tablist", "aria-label": "Tables" }, list.map((table, i) => h("button", { type: "button", role: "tab", id: `tab-${table.id}`, "aria-controls": "table-body", onclick: () => show(i) }, table.title)));
  const show = (at) => {
    const table = list[at], shown = table.rows.slice(0, MOST_ROWS);
    [...tabs.children].forEach((tab, i) => { tab.setAttribute("aria-selected", String(i === at)); tab.tabIndex = i === at ? 0 : -1; });
    body.setAttribute("aria-labelledby", `tab-${table.id}`);
    body.scrollTo(0, 0);
    const cell = (value) => h("td", { class: typeof value === "number" || value === null ? "n" : null }, typeof value === "number" || value === null ? figure(value) : name(shorten(value || "", 160)));
    body.replaceChildren(h("p", { class: "table-tools" }, h("button", { type: "button", class: "button save", onclick: () => save(table) }, `Download ${table.id}.csv`),
      ` ${figure(table.rows.length, 0)} rows`, table.rows.length > shown.length ? `; the first ${figure(shown.length, 0)} are shown here, all are in the file` : ""),
    h("table", {}, h("thead", {}, h("tr", {}, table.columns.map(([heading, of]) => h("th", { scope: "col", class: typeof of(table.rows[0]) === "string" ? null : "n" }, heading)))),
      h("tbody", {}, shown.map((row) => h("tr", {}, table.columns.map(([, of]) => cell(of(row))))))));
  };
  tabs.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key], here = [...tabs.children].indexOf(document.activeElement);
    if (!step || here < 0) return;
    const to = (here + step + list.length) % list.length;
    show(to);
    tabs.children[to].focus();
  });
  dialog.append(h("div", { class: "dialog-head" }, h("h2", { id: "tables-title" }, "The plan as tables"), h("button", { type: "button", class: "close", "aria-label": "Close tables", onclick: () => dialog.close() }, "×")), tabs, body);
  button.addEventListener("click", () => { show(0); dialog.showModal(); });
}
