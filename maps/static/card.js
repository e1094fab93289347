/* The card in the panel: everything about the chosen yard, source, market, lane or road. */
function showCard(card, pane) {
  const { chosen } = pane.state;
  card.hidden = !chosen;
  card.replaceChildren();
  if (!chosen) return;
  const make = { yard: yardCard, source: sourceCard, market: marketCard, lane: laneCard, road: roadCard }[chosen.kind];
  card.append(h("button", { class: "close", type: "button", "aria-label": "Close details", onclick: () => pane.select(null, true) }, "×"),
    h("h2", { id: "card-title" }, name(shorten(chosen.name, 90))), ...make(pane, chosen).filter(Boolean));
}

const heading = (text) => h("h3", {}, text);
const pick = (pane, item, text) => h("button", { class: "go", type: "button", onclick: () => pane.select(item.id, true) }, name(shorten(text || item.name, 60)));
const money = (pane, value) => {
  const unit = moneyUnit(pane.plan, [value]);
  return `${unit.text(value)} ${unit.name}`;
};
const chipOf = (pane, code) => [chip(pane.plan.material.get(code)), " "];

function laneRows(pane, list, far) {
  const shown = list.map((lane) => [lane, pane.now(lane.t)]).filter(([, t]) => t > 0.005).sort((a, b) => b[1] - a[1]);
  if (!shown.length) return h("p", {}, `Nothing (${pane.periodName()}).`);
  const short = shown.slice(0, 12);
  const more = shown.length - short.length;
  return h("div", {}, rows(["place", "one way", "t"], short.map(([lane, t]) => [h("span", {}, chipOf(pane, lane.material), pick(pane, lane, far(lane).name)), figure(lane.km, 1) + " km", figure(t)])),
    more > 0 && h("p", {}, `and ${more} smaller, ${tonnes(sum(shown.slice(12).map(([, t]) => t)))} together`));
}

const area = (site) => (site.area ? [" · ", name(shorten(site.area, 60))] : []);
/* How to find out what only another plan can tell. */
const tried = (text, change, yard) => h("p", { class: "small" }, text, " ", h("code", {}, `loamhaul compare DIR --change ${change}:yard=${yard.code}`));
const GOALS = { cost: "would not lower the net cost", uncollected: "would not leave less behind in total", co2e: "would not lower the emissions" };

/* Why nothing is collected here, as far as the plan knows. */
function sourceWhy(pane, source) {
  const { plan } = pane, arises = sum(source.supply), reach = plan.reach && plan.reach.minutes;
  if (sum(source.collected) > 0.02 * arises) return null;
  if (plan.unused[source.id]) return h("p", {}, "Not used: ", name(plan.unused[source.id]));
  if (arises <= 0) return h("p", {}, "Not used: it produces nothing.");
  if (reach && plan.open.length && plan.open.every((yard) => reach.every((of) => !of.has(yard.id) || of.get(yard.id)[source.row] === 0))) return h("p", {}, "Not used: no road takes ", name(plan.reach.truck), " from here to a yard in use.");
  return h("p", {}, plan.open.length ? `Not used: with these yards, collecting it ${GOALS[plan.goal]}.` : "Not used: no yard is in use.");
}
/* Why nothing is delivered here, as far as the plan knows. */
function marketWhy({ plan }, market) {
  const { unused } = plan;
  const asked = sum(market.demand), made = sum(plan.open.flatMap((yard) => yard.made)), over = sum(plan.open.flatMap((yard) => yard.leftover));
  if (sum(market.delivered) > 0.02 * asked) return null;
  if (unused[market.id]) return h("p", {}, "Not used: ", name(unused[market.id]));
  if (asked <= 0) return h("p", {}, "Not used: it asks for no compost.");
  if (made <= 0) return h("p", {}, "Not used: no compost is made.");
  if (over > 0.02 * made) return h("p", {}, `Not used: hauling compost here ${GOALS[plan.goal]}, so ${tonnes(over)} a year stays at the yards instead.`);
  return h("p", {}, "Not used: all compost goes to other markets, which serve the plan's goal better.");
}

/* Why a site is refused, barred from a feedstock or warned about. */
function screened(pane, yard) {
  if (!yard.screening.length) return [];
  return [heading("Land screening"), h("ul", {}, yard.screening.map(([outcome, text]) => h("li", {}, `${outcome}: `, name(text)))), h("p", { class: "small" }, `A ${pane.plan.screen}.`)];
}

function siteCard(pane, yard) {
  const known = pane.plan.unused[yard.id];
  const why = {
    refused: "The plan may not use this site:",
    unused: ["No siting rule refuses this site, but the plan does without it. ", name(known || pane.plan.choice.site)],
    closed: name(known),
  }[yard.status];
  const nearest = pane.plan.open.map((other) => [other, pane.map.distance(yard.at, other.at) / 1000]).sort((a, b) => a[1] - b[1])[0];
  return [h("p", { class: "kind" }, STATUS[yard.status], ...area(yard)), h("p", {}, why), ...screened(pane, yard),
    yard.status === "unused" && !known && tried("To see what a yard here would cost:", "force_yard", yard),
    nearest && h("p", {}, "Nearest yard in use: ", pick(pane, nearest[0]), `, ${figure(nearest[1], 1)} km as the crow flies.`)];
}

function yardCard(pane, yard) {
  if (!yard.intake) return siteCard(pane, yard);
  const { plan, state } = pane, parts = plan.materials.filter((m) => yard.intake.has(m.code)).map((m) => ({ m, values: yard.intake.get(m.code), value: pane.now(yard.intake.get(m.code)) })), total = sum(parts.map((p) => p.value));
  const inward = yard.lanes.filter((l) => !l.out), outward = yard.lanes.filter((l) => l.out);
  const hauled = sum(inward.map((l) => l.year)), haulIn = sum(inward.map((l) => l.money)), haulOut = sum(outward.map((l) => l.money));
  const all = sum(yard.money.map(([, amount]) => amount)) + haulIn + haulOut, unit = moneyUnit(plan, [all]);
  const water = pane.now(yard.water), turning = pane.now(yard.turning);
  const pad = state.period === WHOLE ? Math.max(...yard.pad) : yard.pad[state.period];
  return [
    h("p", { class: "kind" }, STATUS[yard.status], " · ", name(yard.size), ...area(yard)),
    heading(`Taken in, ${pane.periodName()}`),
    rows(["feedstock", "t", "share"], parts.filter((p) => p.value > 0).map(({ m, value }) => [[h("span", {}, chip(m), " ", name(m.name))], figure(value), percent(value, total)]), ["Total", figure(total), ""]),
    heading("By period"), bars(pane, parts.map(({ m, values }) => ({ colour: fillOf(m), values })), null, "Tonnes taken in by period"),
    reachBlock(pane, yard), ...nearBlock(pane.plan, yard),
    heading(`C:N of each period's mix, window shaded (for ${plan.windows.counts === "total" ? "all carbon" : "available carbon"})`), dots(pane, yard.cn, plan.windows.cn, "", "C:N of the mix by period", yard.usable),
    h("p", { class: "small" }, "Filled: all carbon. Rings: only the carbon that microbes can use."),
    heading("Moisture of the mix, window shaded"), dots(pane, yard.moisture, plan.windows.moisture, " %", "Moisture of the mix by period"),
    heading(`On the pad, ${pane.periodName()}`),
    rows(["", ""], [["Put into windrows", tonnes(pane.now(yard.charge))], ["Water added", figure(water + turning) + " m³"], ["of it at mixing", figure(water) + " m³"], ["of it while turning", figure(turning) + " m³"], ["Compost ready", tonnes(pane.now(yard.made))],
      ["Compost left over", tonnes(pane.now(yard.leftover))], [state.period === WHOLE ? "Pad at its fullest" : "Pad used", figure(100 * pad, 0) + " %"]]),
    heading(`Cost of the year, ${unit.name}`),
    rows(["", ""], [...yard.money.map(([text, amount]) => [text, unit.text(amount)]), ["haulage in", unit.text(haulIn)], ["haulage of compost", unit.text(haulOut)]], ["Total", unit.text(all)]),
    h("p", {}, `${eachText(hauled > 0 ? all / hauled : null)} ${plan.currency} per tonne taken in, before sales. ${figure(sum(inward.map((l) => l.trips)), 0)} trips in, ${figure(sum(outward.map((l) => l.trips)), 0)} trips out.`),
    h("p", {}, plan.choice.yard), tried("To see what doing without it would cost:", "close_yard", yard),
    heading(`Comes from, ${pane.periodName()}`), laneRows(pane, inward, (l) => l.start),
    heading(`Compost goes to, ${pane.periodName()}`), laneRows(pane, outward, (l) => l.end),
    ...screened(pane, yard)];
}

/* Who lives near the yard; the map shows the places in rings (signs.js). */
function nearBlock(plan, yard) {
  const known = plan.people && plan.people.near[yard.code];
  if (!known) return [];
  return [heading("People near"), rows(["within", "heads"], known[0].map(([metres, heads]) => [figure(metres, 0) + " m", figure(heads, 0)])),
    h("p", { class: "small" }, "Counted by distance from the edge of this yard: a planning measure, not an odour study. Local codes and a licensed assessor decide.")];
}

/* Travel time to the yard: switch it on, and what lies within each time. */
function reachBlock(pane, yard) {
  const { reach } = pane.plan, on = pane.state.colour === "time";
  if (!reach || !reach.minutes[0].has(yard.id)) return null;
  const button = h("button", { type: "button", class: "button", id: "reach", "aria-pressed": String(on), onclick: () => pane.set({ colour: on ? "feedstock" : "time" }) }, on ? "Colour sources by feedstock" : "Colour sources by travel time to here");
  if (!on) return h("p", {}, button);
  const within = TIMES.map((each) => ({ each, list: pane.plan.sources.filter((x) => timeClass(minutesTo(pane, yard, x)) === each) }));
  const none = pane.plan.sources.filter((x) => minutesTo(pane, yard, x) === null);
  const line = (text, colour, list) => [h("span", {}, timeChip(colour), " ", text), figure(list.length, 0), figure(sum(list.map((x) => pane.now(x.supply))))];
  return h("div", {}, h("p", {}, button), heading(`Driving time to here, ${pane.state.period === WHOLE ? "slowest period" : pane.periodName()}`),
    rows(["drive", "sources", "supply, t"], [...within.map(({ each, list }) => line(each.text, each.colour, list)), ...(none.length ? [line("no road", null, none)] : [])]),
    h("p", { class: "small" }, name(reach.truck), `, one way, without loading, rounded up to ${reach.step} min.`));
}
const timeChip = (colour) => mini(16, 16, s("circle", { r: 5, fill: colour || PAPER, stroke: colour ? PAPER : GREY, "stroke-width": 1.6 }));

const worthLine = (pane, site) => `One more tonne here: ${worthText(pane, worthOf(pane, site))} (${pane.state.period === WHOLE ? "average over the year" : pane.periodName()}), with these yards.`;

function sourceCard(pane, source) {
  const m = pane.plan.material.get(source.material);
  const trips = sum(source.lanes.map((l) => l.trips)), cost = sum(source.lanes.map((l) => l.money)), hauled = sum(source.lanes.map((l) => l.year));
  return [
    h("p", { class: "kind" }, "source · ", chip(m), " ", name(m.name), ...area(source)),
    sourceWhy(pane, source), rows([pane.periodName(), "t"], [["Supply", figure(pane.now(source.supply))], ["Collected", figure(pane.now(source.collected))],
      [source.today ? `Left uncollected (${source.today})` : "Left uncollected", figure(pane.now(source.uncollected))]]),
    heading("By period: collected; supply dashed"), bars(pane, [{ colour: fillOf(m), values: source.collected }], source.supply, "Tonnes collected by period"),
    heading(`Goes to, ${pane.periodName()}`), laneRows(pane, source.lanes, (l) => l.end),
    hauled > 0 && h("p", {}, `${figure(trips, 0)} trips a year; haulage ${money(pane, cost)}, ${eachText(cost / hauled)} ${pane.plan.currency} per tonne.`),
    h("p", {}, worthLine(pane, source)),
    source.reckoned && h("p", { class: "small" }, "Supply: ", name(source.reckoned), source.from ? [" (", name(source.from), ")"] : "")].flat();
}

function marketCard(pane, market) {
  return [
    h("p", { class: "kind" }, "market", market.crop ? [" · ", name(market.crop)] : "", ...area(market)),
    marketWhy(pane, market), rows([pane.periodName(), "t"], [["Asked for", figure(pane.now(market.demand))], ["Delivered", figure(pane.now(market.delivered))]]),
    heading("By period: delivered; demand dashed"), bars(pane, [{ colour: pane.plan.compost.colour, values: market.delivered }], market.demand, "Tonnes of compost delivered by period"),
    heading(`Comes from, ${pane.periodName()}`), laneRows(pane, market.lanes, (l) => l.start),
    h("p", {}, worthLine(pane, market).replace("One more tonne here", "Selling one more tonne here"))];
}

function laneCard(pane, lane) {
  const m = pane.plan.material.get(lane.material);
  return [
    h("p", { class: "kind" }, "lane · ", chip(m), " ", name(m.name)),
    h("p", {}, pick(pane, lane.start), " → ", pick(pane, lane.end)),
    rows(["", ""], [[`Hauled, ${pane.periodName()}`, tonnes(pane.now(lane.t))], ["Hauled in the year", tonnes(lane.year)], ["One way", figure(lane.km, 1) + " km"], ["Trips in the year", figure(lane.trips, 0)],
      ["Haulage in the year", money(pane, lane.money)], ["Haulage per tonne", `${eachText(lane.year ? lane.money / lane.year : null)} ${pane.plan.currency}`]]),
    h("p", {}, "Trucks: ", name(lane.trucks)),
    heading("Tonnes by period"), bars(pane, [{ colour: fillOf(m), values: lane.t }], null, "Tonnes hauled by period")];
}

function roadCard(pane, road) {
  const lists = [...road.load].map(([code, values]) => ({ code, colour: fillOf(pane.plan.material.get(code)), values }));
  const total = sum(lists.map((l) => pane.now(l.values)));
  return [
    h("p", { class: "kind" }, `road · ${ROAD_WORDS[road.class] || road.class}`),
    heading(`Carries, ${pane.periodName()}`),
    rows(["feedstock", "t", "share"], lists.filter((l) => pane.now(l.values) > 0.05).map((l) => [h("span", {}, chipOf(pane, l.code), name(pane.plan.material.get(l.code).name)), figure(pane.now(l.values)), percent(pane.now(l.values), total)]), ["Total", figure(total), ""]),
    bars(pane, lists, null, "Tonnes carried by period"),
    h("p", {}, `${figure(pane.now(road.trips), 0)} loaded trips and ${figure(pane.now(road.empty), 0)} empty ones, ${pane.periodName()}.`),
    h("p", { class: "small" }, "Counts every trip that uses any part of this road.")];
}
