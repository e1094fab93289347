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
    const top = Math.max(1e-9, ...supply, ...total), high = (value) => (value / top) * 96;
    const bar = (base, value, fill) => s("rect", { x: "6%", width: "88%", y: `${(98 - high(base + value)).toFixed(2)}%`, height: `${high(value).toFixed(2)}%`, fill });
    const columns = plan.periods.map((period, i) => {
      const chart = s("svg", { "aria-hidden": "true" }, bar(0, arises[i], "#dccfb4"));
      let base = 0;
      for (const { m, values } of on) {
        if (values[i] > 0) chart.append(bar(base, values[i], fillOf(m)));
        base += values[i];
      }
      return radio(i, `${period.name}: ${tonnes(total[i])} hauled, supply ${tonnes(arises[i])}`, chart, h("span", { "aria-hidden": "true" }));
    });
    list.replaceChildren(radio(WHOLE, `Whole year: ${tonnes(sum(total))} hauled, supply ${tonnes(sum(arises))}`, h("span", {}, "Whole year"), h("small", {}, tonnes(sum(total)))), ...columns);
    label();
  };
  /* Names in full, or their first words, if each has room; else short, as many as fit. */
  const label = () => {
    const spans = [...list.querySelectorAll(".column > span")];
    if (!spans.length || !list.clientWidth) return;
    const room = spans[0].clientWidth, font = getComputedStyle(spans[0]).font;
    const widest = (list) => Math.max(...list.map((text) => textWidth(text, font)));
    const names = plan.periods.map((period) => period.name), first = names.map((text) => text.split(/[\s,;:]+/)[0]);
    const fits = [names, first].find((list) => new Set(list).size === count && !list.includes("") && widest(list) <= room);
    const shown = fits || plan.periods.map((period) => period.short), step = fits ? 1 : Math.ceil((widest(shown) + 3) / room);
    spans.forEach((span, i) => { span.textContent = i % step ? "\u00a0" : shown[i]; });
  };
  new ResizeObserver(label).observe(list);
  let known = null;
  return () => {
    const key = [...pane.state.materials].join();
    if (key !== known) drawn();
    else label();
    known = key;
    [...list.children].forEach((button, i) => {
      const on = i === pane.state.period + 1;
      button.setAttribute("aria-checked", String(on));
      button.tabIndex = on ? 0 : -1;
    });
  };
}
