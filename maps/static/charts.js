/* Small charts and tables of the card. */

/* Which short names have room below a chart: every one, every second, … */
const everyName = (periods, room) => Math.max(1, Math.ceil((3 + Math.max(...periods.map(({ short }) => textWidth(short, PLACE_FONT.replace("11.5px", "10.5px"))))) / room));

/* Bars by period; `lists` are drawn on top of each other, `ghost` as an outline. */
function bars(pane, lists, ghost, label) {
  const { periods } = pane.plan, count = periods.length, width = 300, room = (width - 2) / count, foot = 62;
  const stack = periods.map((_, i) => sum(lists.map((l) => l.values[i])));
  const top = Math.max(1e-9, ...stack, ...(ghost || [])), y = (value) => foot - (value / top) * 47;
  const step = everyName(periods, room);
  const peak = Math.max(...stack) > 0 ? `; most in ${periods[stack.indexOf(Math.max(...stack))].name}: ${tonnes(Math.max(...stack))}` : "";
  const chart = s("svg", { class: "chart", viewBox: `0 0 ${width} 78`, role: "img", "aria-label": label + peak });
  periods.forEach((period, i) => {
    const x = i * room + Math.min(2, room * 0.1), wide = room - 2 * Math.min(2, room * 0.1);
    const column = s("g", {}, s("title", {}, `${period.name}: ${tonnes(stack[i])}${ghost ? ` of ${tonnes(ghost[i])}` : ""}`), s("rect", { x: i * room, y: 0, width: room, height: 78, fill: pane.state.period === i ? "#e8dcc2" : "transparent" }));
    let base = 0;
    for (const { colour, values } of lists) {
      const value = values[i] || 0;
      if (value > 0) column.append(s("rect", { x, y: y(base + value), width: wide, height: Math.max(0.5, y(base) - y(base + value)), fill: colour }));
      base += value;
    }
    if (ghost && ghost[i] > 0) column.append(s("path", { d: `M${x} ${foot}V${y(ghost[i])}H${x + wide}V${foot}`, fill: "none", stroke: GREY, "stroke-dasharray": "2 2" }));
    if (i % step === 0) column.append(s("text", { x: (i + 0.5) * room, y: 73, "text-anchor": "middle", "font-size": 10.5 }, period.short));
    chart.append(column);
  });
  chart.append(s("line", { x1: 0, x2: width, y1: foot, y2: foot, stroke: GREY }), s("line", { x1: 0, x2: width, y1: y(top), y2: y(top), stroke: "#c9bda8", "stroke-dasharray": "1 2" }), s("text", { x: width, y: 11, "text-anchor": "end", "font-size": 10.5 }, `${figure(top)} t`));
  return chart;
}

/* One dot a period against the allowed window, whose ends are named; `others` as rings. */
function dots(pane, values, [low, high], unit, label, others = []) {
  const { periods } = pane.plan, width = 300, room = (width - 46) / periods.length, known = values.filter((v) => v !== null), all = known.concat(others.filter((v) => v !== null));
  const least = Math.min(low, ...all), most = Math.max(high, ...all), pad = (most - least) * 0.15 || 1;
  const y = (value) => 50 - ((value - least + pad) / (most - least + 2 * pad)) * 46;
  const step = everyName(periods, room);
  const range = known.length ? `; from ${figure(Math.min(...known), 1)} to ${figure(Math.max(...known), 1)}${unit}` : "";
  const chart = s("svg", { class: "chart", viewBox: `0 0 ${width} 67`, role: "img", "aria-label": label + range },
    s("rect", { x: 0, y: y(high), width: width - 46, height: y(low) - y(high), fill: "#dce8d8" }));
  for (const edge of [low, high]) {
    chart.append(s("line", { x1: 0, x2: width - 46, y1: y(edge), y2: y(edge), stroke: "#2f5d3a" }), s("text", { x: width - 42, y: y(edge) + 4, "font-size": 11 }, figure(edge) + unit));
  }
  others.forEach((value, i) => {
    if (value !== null) chart.append(s("circle", { cx: (i + 0.5) * room, cy: y(value), r: pane.state.period === i ? 4.5 : 2.8, fill: "none", stroke: "#3b2a1d", "stroke-width": 1.3 }, s("title", {}, `${periods[i].name}, available carbon: ${figure(value, 1)}${unit}`)));
  });
  values.forEach((value, i) => {
    if (value !== null) chart.append(s("circle", { cx: (i + 0.5) * room, cy: y(value), r: pane.state.period === i ? 5 : 3.2, fill: "#3b2a1d" }, s("title", {}, `${periods[i].name}: ${figure(value, 1)}${unit}`)));
    if (i % step === 0) chart.append(s("text", { x: (i + 0.5) * room, y: 62, "text-anchor": "middle", "font-size": 10.5 }, periods[i].short));
  });
  return chart;
}

/* A table: headings (empty for none), rows of cells, a last row of totals. */
function rows(head, body, total) {
  const line = (cells, tag, kind) => h("tr", { class: kind }, cells.map((cell, i) => h(cell === "" ? "td" : tag, { class: i ? "n" : null, scope: tag === "th" && cell !== "" ? "col" : null }, cell)));
  return h("table", {}, head.some(Boolean) && h("thead", {}, line(head, "th")),
    h("tbody", {}, body.map((cells) => line(cells, "td")), total && line(total, "td", "sum")));
}
