/* The legend: reckoned afresh for the period and the view shown. */
const key = (picture, ...text) => h("div", { class: "key" }, picture, h("span", {}, ...text));
const swatch = (...inside) => mini(30, 18, ...inside);

function showLegend(element, pane) {
  const { plan, state } = pane, span = state.period === WHOLE ? "t a year" : `t in ${pane.periodName()}`;
  const block = (title, ...inside) => h("div", { class: "legend-block" }, h("p", { class: "legend-title" }, title), ...inside);
  element.replaceChildren(...[h("h2", {}, "Legend"),
    haulageLegend(pane, span, block),
    block(`Yard, ring by feedstock; intake, ${span}`, discs(pane)),
    block(sourceTitle(pane), ...sourceLegend(pane, span)),
    block("Other signs", ...signLegend(pane)),
    landLegend(plan).length && block("Land and roads", ...landLegend(plan)),
    h("p", { class: "small print-only" }, "Tonnes as received (wet). A plan, not a permit: local codes and licensed practice decide.")].filter(Boolean));
}

function discs(pane) {
  const list = niceSteps(pane.scale.yardTop).filter((t) => pane.scale.yard * Math.sqrt(t) >= 6.5);
  return h("div", { class: "legend-row" }, list.map((t) => {
    const r = yardRadius(pane, t);
    return h("div", {}, mini(2 * r + 5, 2 * r + 5, s("circle", { r: r + 1.4, fill: INK }), s("circle", { r, fill: "#e4dac8" }), s("circle", { r: r * 0.52, fill: PAPER })), figure(t));
  }));
}
function haulageLegend(pane, span, block) {
  const { haulage, chosen, largest } = pane.state;
  const flows = haulage === "flows" || (chosen && chosen.lanes.length && chosen.kind !== "road");
  const widths = (top, width, colour) => h("div", { class: "legend-row" }, niceSteps(top, 0.2, 0.5).map((t) => h("div", {}, mini(60, 18, s("line", { x1: -28, x2: 28, y1: 0, y2: 0, stroke: colour, "stroke-width": width(pane, t).toFixed(2) })), figure(t))));
  const { drawn, live } = shownLanes(pane), rest = live.length - drawn.length;
  return h("div", {}, haulage === "roads" && block(`Load on a road, ${span}`, widths(pane.scale.roadTop, roadWidth, LOAD)),
    flows && block(`Direct flow, ${span}; not the road driven`, widths(pane.scale.laneTop, laneWidth, GREY),
      key(mini(40, 14, s("path", { d: "M-19 4Q0 -7 12 -1", fill: "none", stroke: GREY, "stroke-width": 3 }), s("path", { d: "M19 2L9 4L12 -1L11 -6Z", fill: GREY })), "Feedstock to a yard, in its colour"),
      key(mini(40, 14, s("path", { d: "M-19 4Q0 -7 12 -1", fill: "none", stroke: pane.plan.compost.colour, "stroke-width": 3, "stroke-dasharray": "6 3" }), s("path", { d: "M19 2L9 4L12 -1L11 -6Z", fill: pane.plan.compost.colour })), "Compost to a market"),
      rest > 0 && h("p", { class: "small" }, `The ${figure(largest, 0)} largest of ${figure(live.length, 0)} are drawn; ${tonnes(sum(live.slice(largest).map((x) => x.t)))} in the others.`)));
}

const sourceTitle = ({ plan, state }) => ({ feedstock: "Source, area by supply", worth: `Source by value of one more tonne, ${plan.worth} per t`, time: `Source by driving time to ${shorten(state.chosen ? state.chosen.name : "", 40)}` }[state.colour]);
function sourceLegend(pane) {
  const { plan, state } = pane;
  const shape = (m, fill, edge) => swatch(s("path", { d: sign(m.shape, 5.4), fill: fill || PAPER, stroke: fill ? PAPER : edge, "stroke-width": fill ? 1 : 1.7 }));
  if (state.colour === "feedstock") {
    const first = plan.materials[0];
    return [...plan.materials.filter((m) => state.materials.has(m.code)).map((m) => key(chip(plan.material.get(m.code)), name(m.name))),
      first && key(shape(plan.material.get(first.code), null, first.colour), "Hollow: nothing collected")];
  }
  const round = { shape: "circle" };
  if (state.colour === "time") return [...TIMES.map((each) => key(shape(round, each.colour, GREY), each.text)), key(swatch(), state.period === WHOLE ? "In the slowest period" : pane.periodName())];
  const steps = worthSteps(pane), edges = [0, ...steps];
  return [...edges.map((low, i) => key(shape(round, STEPS[i]), i + 1 < edges.length ? `${i ? figure(low) : "above 0"} to ${figure(edges[i + 1])}` : i ? `${figure(low)} and more` : "above 0")).reverse(),
    key(shape(round, null, GREY), "Nothing: there is more than the yards can use"),
    plan.sources.some((x) => worthOf(pane, x) < -0.005) && key(shape(round, ALARM), "One more tonne would cost money")];
}
function signLegend({ plan }) {
  const leaf = (fill) => swatch(s("path", { d: sign("leaf", 5), fill: fill ? plan.compost.colour : PAPER, stroke: plan.compost.colour, "stroke-width": fill ? 0 : 1.6 }));
  const sample = plan.materials.slice(0, 3).map((m, i) => ({ fill: fillOf(m), value: 3 - i }));
  const has = (status) => plan.yards.some((yard) => yard.status === status);
  return [
    has("new") && key(mini(30, 26, ...yardSign(sample, 9, false)), "New yard"), has("existing") && key(mini(30, 26, ...yardSign(sample, 9, true)), "Existing yard"), has("enlarged") && key(mini(30, 26, ...yardSign(sample, 9, true)), "Existing yard, enlarged"),
    has("unused") && key(swatch(...siteSign("unused")), "Candidate, not used"), has("refused") && key(swatch(...siteSign("refused")), "Candidate, refused by the land screening"), has("closed") && key(swatch(...siteSign("closed")), "Closed site"),
    plan.markets.length > 0 && key(leaf(true), "Market with compost delivered"), plan.markets.length > 0 && key(leaf(false), "Market, nothing delivered")];
}
function landLegend(plan) {
  const kinds = [...new Set(plan.land.map((f) => f.kind))].filter((kind) => LAND_WORDS[kind]), classes = [...new Set(plan.roads.map((road) => road.class))];
  const areas = kinds.map((kind) => {
    const style = LAND_STYLE[kind];
    const sign = swatch(style.radius ? s("circle", { r: style.radius * 1.5, fill: style.fillColor, stroke: style.color, "stroke-width": style.weight }) : s("rect", { x: -12, y: -6, width: 24, height: 12, fill: style.fillColor || "none", stroke: style.color, "stroke-dasharray": style.dashArray }));
    return FINE.includes(kind) ? h("div", { class: "screen-only" }, key(sign, `${LAND_WORDS[kind]} (zoom in)`)) : key(sign, LAND_WORDS[kind]);
  });
  return [...classes.filter((kind) => ROAD_WORDS[kind]).map((kind) => key(swatch(s("line", { x1: -13, x2: 13, y1: 0, y2: 0, stroke: ROAD_STYLE[kind].color, "stroke-width": ROAD_STYLE[kind].weight, "stroke-dasharray": ROAD_STYLE[kind].dashArray })), ROAD_WORDS[kind])), ...areas];
}
