/* The card in the panel: everything about the chosen yard, source, market or lane. */
const STATUS = { open: "new yard", existing: "existing yard", unused: "candidate, not used", refused: "candidate, refused by the land screening", closed: "closed site" };

/* Small bars by period; `lists` are drawn on top of each other, `ghost` as outline. */
function bars(lists, ghost, label) {
  const count = DATA.periods.length, width = 300, height = 74, room = width / count;
  const stack = DATA.periods.map((_, i) => sum(lists.map((l) => l.values[i] || 0)));
  const top = Math.max(1e-9, ...stack, ...(ghost || []));
  const y = (value) => 58 - (value / top) * 52;
  const chart = s("svg", { class: "chart", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": label });
  DATA.periods.forEach((period, i) => {
    const mark = state.period === i;
    if (mark) chart.append(s("rect", { x: i * room, y: 0, width: room, height, fill: "#ece3d0" }));
    if (ghost) chart.append(s("rect", { x: i * room + 2.5, y: y(ghost[i]), width: room - 5, height: 58 - y(ghost[i]), fill: "none", stroke: "#8b7f70", "stroke-dasharray": "2 2" }));
    let base = 0;
    lists.forEach((list) => {
      const value = list.values[i] || 0;
      if (value > 0) chart.append(s("rect", { x: i * room + 2.5, y: y(base + value), width: room - 5, height: Math.max(0.5, y(base) - y(base + value)), fill: list.colour }));
      base += value;
    });
    if (count <= 13) chart.append(s("text", { x: (i + 0.5) * room, y: 70, "text-anchor": "middle", "font-size": 10.5 }, period.short));
  });
  chart.append(s("line", { x1: 0, x2: width, y1: 58, y2: 58, stroke: "#655a4f" }));
  return chart;
}

/* One dot a period against the allowed window. */
function dots(values, [low, high], unit, label) {
  const count = DATA.periods.length, width = 300, room = (width - 44) / count;
  const known = values.filter((v) => v !== null);
  const least = Math.min(low, ...known), most = Math.max(high, ...known), pad = (most - least) * 0.15 || 1;
  const y = (value) => 50 - ((value - least + pad) / (most - least + 2 * pad)) * 46;
  const chart = s("svg", { class: "chart", viewBox: `0 0 ${width} 66`, role: "img", "aria-label": label });
  chart.append(s("rect", { x: 0, y: y(high), width: width - 44, height: y(low) - y(high), fill: "#dce8d8" }));
  [low, high].forEach((edge) => {
    chart.append(s("line", { x1: 0, x2: width - 44, y1: y(edge), y2: y(edge), stroke: "#2f5d3a", "stroke-width": 1 }));
    chart.append(s("text", { x: width - 40, y: y(edge) + 4, "font-size": 11 }, figure(edge) + unit));
  });
  values.forEach((value, i) => {
    if (value === null) return;
    const mark = state.period === i;
    chart.append(s("circle", { cx: (i + 0.5) * room, cy: y(value), r: mark ? 5 : 3.4, fill: "#3b2a1d" },
      s("title", {}, `${DATA.periods[i].name}: ${figure(value, 1)}${unit}`)));
  });
  if (count <= 13) DATA.periods.forEach((p, i) => chart.append(s("text", { x: (i + 0.5) * room, y: 63, "text-anchor": "middle", "font-size": 10 }, p.short)));
  return chart;
}

function rows(head, body, total) {
  const line = (cells, tag, kind) => h("tr", { class: kind },
    cells.map((cell, i) => h(tag, { class: i ? "n" : null, scope: tag === "th" ? "col" : null }, cell)));
  return h("div", { class: "scroll", tabindex: "0" }, h("table", {},
    h("thead", {}, line(head, "th")),
    h("tbody", {}, body.map((cells) => line(cells, "td")), total ? line(total, "td", "sum") : null)));
}
const link = (target) => h("button", { class: "go", type: "button", onclick: () => choose(target) }, name(target.name));
const laneLink = (lane, other) => h("button", { class: "go", type: "button", onclick: () => choose({ kind: "lane", lane }) }, name(other.name));
const withChip = (code, text) => h("span", {}, chip(code), " ", name(text));
const money = (value) => `${figure(value, 0)} ${DATA.currency}`;

function laneRows(list, far) {
  const shown = list.map((lane) => [lane, now(lane.t)]).filter(([, t]) => t > 0.005).sort((a, b) => b[1] - a[1]);
  if (!shown.length) return h("p", {}, `Nothing in this period (${periodName()}).`);
  return rows(["", "km", "t"], shown.map(([lane, t]) => [
    h("span", {}, chip(lane.material), " ", laneLink(lane, far(lane))), figure(lane.km, 1), figure(t)]));
}

/* Siting rules the yard breaks; refusals come first. */
function screening(yard) {
  if (!yard.screening.length) return [];
  return [h("h3", {}, "Land screening"),
    h("ul", {}, yard.screening.map(([outcome, text]) => h("li", {}, `${outcome}: `, name(text)))), h("p", {}, h("small", {}, `A ${DATA.screen}.`))];
}

function yardCard(yard) {
  const parts = intake(yard.code), total = sum(parts.map((p) => p.value));
  const box = [h("p", { class: "kind" }, `${STATUS[yard.status]}${yard.size ? " · " : ""}`, yard.size ? name(yard.size) : "")];
  if (!isOpen(yard)) return [...box, h("p", {}, "The plan hauls nothing here."), ...screening(yard)];
  box.push(h("h3", {}, `Taken in, ${periodName()}`),
    rows(["", "t", "share"], parts.map((p) => [withChip(p.code, p.name), figure(p.value), figure(100 * p.value / total, 0) + " %"]),
      ["Total", figure(total), ""]));
  const lists = DATA.materials.map((m) => ({ colour: m.colour, values: DATA.periods.map((_, i) => sum(
    lanes.filter((l) => l.kind === "in" && l.to === yard.code && l.material === m.code).map((l) => l.t[i]))) }));
  box.push(bars(lists, null, "Tonnes taken in by period"));
  box.push(h("h3", {}, "Mix of each period: C:N, window shaded"), dots(yard.cn, DATA.windows.cn, "", "C:N of the mix by period"));
  box.push(h("h3", {}, "Moisture of the mix, window shaded"), dots(yard.moisture, DATA.windows.moisture, " %", "Moisture of the mix by period"));
  const pad = state.period === WHOLE ? Math.max(...yard.pad) : yard.pad[state.period];
  box.push(rows(["", ""], [
    [`Put into windrows, ${periodName()}`, tonnes(now(yard.charge))], ["Water added", figure(now(yard.water)) + " m³"],
    ["Compost ready", tonnes(now(yard.made))], ["Compost left over", tonnes(now(yard.leftover))],
    [state.period === WHOLE ? "Pad at its fullest" : "Pad used", figure(100 * pad, 0) + " %"]]));
  const inward = lanes.filter((l) => l.kind === "in" && l.to === yard.code);
  const outward = lanes.filter((l) => l.kind === "out" && l.from === yard.code);
  box.push(h("h3", {}, `Money of the year, ${DATA.currency}`), rows(["", DATA.currency], [
    ...yard.money.map(([line, amount]) => [line, figure(amount, 0)]),
    ["Haulage in", figure(sum(inward.map((l) => l.money)), 0)], ["Haulage of compost", figure(sum(outward.map((l) => l.money)), 0)]]));
  box.push(h("h3", {}, `Comes from, ${periodName()}`), laneRows(inward, (l) => l.start));
  box.push(h("h3", {}, `Compost goes to, ${periodName()}`), laneRows(outward, (l) => l.end));
  box.push(...screening(yard));
  return box;
}

function sourceCard(source) {
  const m = material.get(source.material);
  return [
    h("p", { class: "kind" }, "source · ", chip(source.material), " ", name(m.name)),
    rows([periodName(), "t"], [["Supply", figure(now(source.supply))], ["Collected", figure(now(source.collected))],
      [`Left uncollected (${source.today})`, figure(now(source.uncollected))]]),
    h("h3", {}, "By period: collected, supply dashed"),
    bars([{ colour: m.colour, values: source.collected }], source.supply, "Tonnes collected and supplied by period"),
    h("h3", {}, "How the supply was reckoned"), h("p", {}, name(source.reckoned)),
    source.from ? h("p", {}, "From: ", name(source.from)) : null,
    h("h3", {}, `Goes to, ${periodName()}`), laneRows(lanes.filter((l) => l.kind === "in" && l.from === source.code), (l) => l.end)];
}

function marketCard(market) {
  return [
    h("p", { class: "kind" }, "market for compost", market.crop ? " · " : "", market.crop ? name(market.crop) : ""),
    rows([periodName(), "t"], [["Demand", figure(now(market.demand))], ["Delivered", figure(now(market.delivered))]]),
    h("h3", {}, "By period: delivered, demand dashed"),
    bars([{ colour: DATA.compost.colour, values: market.delivered }], market.demand, "Tonnes of compost delivered and asked for by period"),
    h("h3", {}, `Comes from, ${periodName()}`), laneRows(lanes.filter((l) => l.kind === "out" && l.to === market.code), (l) => l.start)];
}

function laneCard(lane) {
  const m = material.get(lane.material), total = sum(lane.t);
  return [
    h("p", { class: "kind" }, "lane · ", chip(lane.material), " ", name(m.name)),
    h("p", {}, link(lane.start), " → ", link(lane.end)),
    rows(["", ""], [[`Hauled, ${periodName()}`, tonnes(now(lane.t))], ["Hauled in the year", tonnes(total)], ["One way", figure(lane.km, 1) + " km"],
      ["Trips in the year", figure(lane.trips, 0)],
      ["Haulage in the year", money(lane.money)], ["Haulage per tonne", figure(total ? lane.money / total : null, 2) + " " + DATA.currency]]),
    h("p", {}, "Trucks: ", name(lane.trucks.join("; "))),
    h("h3", {}, "Tonnes by period"), bars([{ colour: m.colour, values: lane.t }], null, "Tonnes by period")];
}

function showCard() {
  const card = document.getElementById("card"), chosen = state.chosen;
  card.replaceChildren();
  card.hidden = !chosen;
  if (!chosen) return;
  const title = chosen.kind === "lane" ? `${chosen.lane.start.name} → ${chosen.lane.end.name}` : chosen.name;
  const make = { yard: yardCard, source: sourceCard, market: marketCard, lane: (c) => laneCard(c.lane) }[chosen.kind];
  card.append(h("button", { class: "close", type: "button", "aria-label": "Close details", onclick: () => choose(null) }, "×"),
    h("h2", {}, name(title)), ...make(chosen).filter(Boolean));
}
