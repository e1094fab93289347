/* Signs of yards, sources, markets and candidates, and the classes they are coloured by. */
const STATUS = { new: "new yard", enlarged: "enlarged yard", existing: "existing yard", unused: "candidate, not used", refused: "candidate, refused by the land screening", closed: "closed site" };
const STEPS = ["#9b6fb3", "#6f3d8f", "#3a1250"];
const TIMES = [
  { most: 30, text: "within 30 min", colour: "#123f5c" }, { most: 60, text: "30 to 60 min", colour: "#2a7f8c" },
  { most: 90, text: "60 to 90 min", colour: "#b3700f" }, { most: Infinity, text: "over 90 min", colour: null },
];

/* Minutes from a source to the chosen yard; the slowest period for the whole year. */
function minutesTo(pane, yard, source) {
  const { reach } = pane.plan, steps = reach.minutes.map((of) => of.get(yard.id)[source.row]);
  const kept = pane.state.period === WHOLE ? steps : [steps[reach.of[pane.state.period]]];
  return kept.some((step) => step === 0) ? null : Math.max(...kept) * reach.step;
}
const timeClass = (minutes) => TIMES.find((each) => minutes !== null && minutes <= each.most) || null;
const minutesText = (minutes, reach) => (minutes === null ? "no road" : minutes >= reach.longest * reach.step ? `${minutes} min or more` : `${minutes} min`);

/* Worth of a tonne more: mean over the year by what arises; a share of zero is no worth. */
function worthOf(pane, site) {
  if (pane.state.period !== WHOLE) return site.worth[pane.state.period] || 0;
  const weights = site.supply || site.demand, total = sum(weights);
  return total > 0 ? sum(site.worth.map((value, i) => (value || 0) * (weights[i] || 0))) / total : 0;
}
function worthSteps(pane) {
  const key = pane.state.period;
  if (!pane.worthSteps || pane.worthSteps.key !== key) {
    const top = Math.max(0, ...pane.plan.sources.map((source) => worthOf(pane, source)));
    pane.worthSteps = { key, list: niceSteps(top * 0.75).slice(-2) };
  }
  return pane.worthSteps.list;
}
/* A loss is said as one, not as a gain below nothing. */
const worthText = (pane, value) => (value < -0.005 ? `${eachText(-value)} ${pane.plan.loss}` : `${eachText(Math.max(0, value))} ${pane.plan.worth}`);
function worthClass(pane, value) {
  if (Math.abs(value) < 0.005) return { colour: null, text: "nothing" };
  if (value < 0) return { colour: ALARM, text: "costs" };
  return { colour: STEPS[worthSteps(pane).filter((step) => value >= step).length], text: "saves" };
}

/* Colour of a source: feedstock, worth of a tonne more, or time to the chosen yard; null is hollow. */
function sourceColour(pane, source) {
  const { state } = pane;
  if (state.colour === "worth") return worthClass(pane, worthOf(pane, source)).colour;
  if (state.colour === "time" && state.chosen && state.chosen.intake) return (timeClass(minutesTo(pane, state.chosen, source)) || {}).colour || null;
  return pane.now(source.collected) > pane.now(source.supply) * 0.02 ? pane.plan.material.get(source.material).colour : null;
}
function sourceWords(pane, source) {
  const { state } = pane, material = pane.plan.material.get(source.material).name;
  const words = `${source.name}: ${tonnes(pane.now(source.supply))} of ${material}, ${tonnes(pane.now(source.collected))} collected, ${pane.periodName()}`;
  if (state.colour === "worth") return `${words}; one more tonne: ${worthText(pane, worthOf(pane, source))}`;
  if (state.colour === "time" && state.chosen && state.chosen.intake) return `${words}; to ${state.chosen.name}: ${minutesText(minutesTo(pane, state.chosen, source), pane.plan.reach)}`;
  return words;
}

/* A place: its sign in a group that can be pressed; yards are reached by the Tab key. */
function place(pane, site, label, halo, ...inside) {
  const at = pane.point(site.at), chosen = pane.state.chosen === site;
  const mark = pane.options.mark && pane.options.mark(site), text = mark ? `${label}; ${mark.text}` : label;
  return s("g", { class: `place ${site.kind}`, transform: `translate(${at.x} ${at.y})`, "data-id": site.id, role: "button", "aria-label": text, tabindex: site.kind === "yard" ? "0" : "-1", "aria-pressed": String(chosen) },
    s("circle", { class: "grip", r: 12 }),
    mark && s("circle", { r: halo + 1, fill: "none", stroke: mark.colour, "stroke-width": 3, "stroke-dasharray": mark.dash || null }),
    (chosen || site.kind === "yard") && s("circle", { class: chosen ? "halo chosen" : "halo", r: halo }), ...inside);
}

function drawSigns(pane) {
  const { plan, state, groups } = pane;
  if (state.chosen && plan.people && plan.people.near[state.chosen.code] && state.chosen.intake) drawPeople(pane, state.chosen);
  if (state.markets) for (const market of plan.markets) drawMarket(pane, market);
  if (state.sources) for (const source of plan.sources) drawSource(pane, source);
  for (const yard of plan.yards) {
    if (yard.intake) drawYard(pane, yard);
    else if (state.unused || state.chosen === yard) {
      const why = yard.status === "refused" && yard.screening.length ? ` (${yard.screening[0][1]})` : "";
      groups.unused.append(place(pane, yard, `${yard.name}: ${STATUS[yard.status]}${why}`, 10, siteSign(yard.status)));
    }
  }
}
/* Rings about the chosen yard, from the edge of its site, and the places with people within the last. */
function drawPeople(pane, yard) {
  const { homes, near } = pane.plan.people, [within, places] = near[yard.code], middle = pane.point(yard.at), { markets } = pane.groups;
  for (const [metres] of within) {
    const edge = pane.point([yard.at[0] + metres / 111195, yard.at[1]]), r = middle.y - edge.y;
    markets.append(s("circle", { class: "ring", cx: middle.x, cy: middle.y, r, fill: "none", stroke: INK, "stroke-width": 1, "stroke-dasharray": "5 4" }),
      s("text", { x: middle.x, y: middle.y - r - 3, "text-anchor": "middle", "font-size": 11, fill: INK, stroke: PAPER, "stroke-width": 3, "paint-order": "stroke" }, `${figure(metres, 0)} m`));
  }
  for (const [lat, lon, heads, title] of places.map((each) => homes[each])) {
    const at = pane.point([lat, lon]);
    markets.append(s("circle", { class: "home", cx: at.x, cy: at.y, r: Math.max(2.5, Math.sqrt(heads) / 8), fill: "#6b4f8a", "fill-opacity": 0.75, stroke: PAPER }, s("title", {}, `${title}: ${figure(heads, 0)} people`)));
  }
}
function drawMarket(pane, market) {
  const demand = pane.now(market.demand), got = pane.now(market.delivered);
  if (demand <= 0 && pane.state.chosen !== market) return;
  const full = got > demand * 0.02, { colour } = pane.plan.compost;
  pane.groups.markets.append(place(pane, market, `${market.name}: ${tonnes(got)} of ${tonnes(demand)} of compost delivered, ${pane.periodName()}`, 11,
    s("path", { d: sign("leaf", pane.map.getSize().x < 600 ? 3.4 : 4.4), fill: full ? colour : PAPER, stroke: full ? PAPER : colour, "stroke-width": full ? 1 : 1.6 })));
}
function drawSource(pane, source) {
  const supply = pane.now(source.supply), { colour: own, shape } = pane.plan.material.get(source.material);
  const chosen = pane.state.chosen === source;
  if ((!pane.state.materials.has(source.material) || supply <= 0) && !chosen) return;
  const r = sourceRadius(pane, supply), colour = sourceColour(pane, source);
  const edge = pane.state.colour === "feedstock" ? own : GREY;
  pane.groups.sources.append(place(pane, source, sourceWords(pane, source), r + 5,
    s("path", { d: sign(shape, r), fill: colour || PAPER, stroke: colour ? PAPER : edge, "stroke-width": colour ? 1 : 1.7 })));
}
function drawYard(pane, yard) {
  const parts = intakeOf(pane, yard), total = sum(parts.map((p) => p.value)), r = yardRadius(pane, total);
  pane.groups.yards.append(place(pane, yard, `${yard.name}: ${tonnes(total)} taken in, ${pane.periodName()}`, r + 5, yardSign(parts, r, yard.status !== "new")));
}
