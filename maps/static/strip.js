/* The period strip: one column a period, stacked tonnes; it is the slider. */
function makeStrip(box, pane) {
  const { plan } = pane, count = plan.periods.length;
  const hauled = plan.materials.map((m) => ({ m, values: plan.periods.map((_, i) => sum(plan.open.map((yard) => (yard.intake.get(m.code) || [])[i]))) }));
  const supply = plan.periods.map((_, i) => sum(plan.sources.map((x) => x.supply[i])));
  const radio = (period, label, ...inside) => h("button", { type: "button", role: "radio", "data-period": period, class: period === WHOLE ? "year" : "column", title: label, "aria-label": label, onclick: () => { stop(); pane.setPeriod(period); } }, ...inside);
  const list = h("div", { class: "columns", role: "radiogroup", "aria-label": "Period shown on the map" });
  const play = h("button", { type: "button", class: "play", id: "play" });
  box.append(play, list);
  let timer = null;
  const show = () => {
    const text = timer === null ? "Play the periods one after another" : "Stop";
    play.replaceChildren(mini(20, 20, timer === null ? s("path", { d: "M-5 -7L8 0L-5 7Z", fill: "currentColor" }) : s("path", { d: "M-6 -7H-2V7H-6ZM2 -7H6V7H2Z", fill: "currentColor" })));
    play.setAttribute("aria-label", text);
    play.title = text;
  };
  const stop = () => {
    if (timer !== null) window.clearInterval(timer);
    timer = null;
    show();
  };
  const next = () => pane.setPeriod((pane.state.period + 1) % count);
  play.addEventListener("click", () => {
    if (timer !== null) { stop(); return; }
    timer = window.setInterval(next, 1400);
    next();
    show();
  });
  list.addEventListener("keydown", (event) => {
    const here = pane.state.period, to = { ArrowRight: here + 1, ArrowDown: here + 1, ArrowLeft: here - 1, ArrowUp: here - 1, Home: WHOLE, End: count - 1 }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    stop();
    pane.setPeriod(((to + 1 + count + 1) % (count + 1)) - 1);
    list.children[pane.state.period + 1].focus();
  });
  show();

  /* Columns show the feedstocks that are switched on. */
  const drawn = () => {
    const on = hauled.filter(({ m }) => pane.state.materials.has(m.code));
    const total = plan.periods.map((_, i) => sum(on.map((x) => x.values[i])));
    const arises = plan.periods.map((_, i) => sum(plan.sources.filter((x) => pane.state.materials.has(x.material)).map((x) => x.supply[i])));
    const top = Math.max(1e-9, ...supply, ...total), y = (value) => 61 - (value / top) * 59;
    const columns = plan.periods.map((period, i) => {
      const chart = s("svg", { viewBox: "0 0 30 62", preserveAspectRatio: "none", "aria-hidden": "true" }, s("rect", { x: 2, width: 26, y: y(arises[i]), height: 61 - y(arises[i]), fill: "#dccfb4" }));
      let base = 0;
      for (const { m, values } of on) {
        if (values[i] > 0) chart.append(s("rect", { x: 2, width: 26, y: y(base + values[i]), height: y(base) - y(base + values[i]), fill: m.colour }));
        base += values[i];
      }
      return radio(i, `${period.name}: ${tonnes(total[i])} hauled of ${tonnes(arises[i])} arising`, chart, h("span", { "aria-hidden": "true" }, i % Math.ceil(count / 14) ? "\u00a0" : period.short));
    });
    list.replaceChildren(radio(WHOLE, `Whole year: ${tonnes(sum(total))} hauled of ${tonnes(sum(arises))} arising`, h("span", {}, "Whole year"), h("small", {}, tonnes(sum(total)))), ...columns);
  };
  let known = null;
  return () => {
    const key = [...pane.state.materials].join();
    if (key !== known) drawn();
    known = key;
    [...list.children].forEach((button, i) => {
      const on = i === pane.state.period + 1;
      button.setAttribute("aria-checked", String(on));
      button.tabIndex = on ? 0 : -1;
    });
  };
}
