/* The page of two plans: panes with linked views, what differs, tables of the change. */
const byId = (id) => document.getElementById(id);
const block = JSON.parse(byId("data").textContent);
const base = readPlan(block.base);
const roadParts = new Map(block.base.roads.map((road) => [road.code, road.parts]));
const read = new Map();
const KEPT = ["cautions", "windows", "frame"];
const MARKS = { opened: { colour: "#2f5d3a" }, closed: { colour: ALARM, dash: "5 3" }, resized: { colour: "#123f5c", dash: "2 2.5" } };
const MOST = 12, MOST_SOURCES = 25;

/* A change's plan is read when it is first asked for; what it shares comes from the base. */
function planOf(i) {
  if (!read.has(i)) {
    const raw = block.outcomes[i].plan, shared = Object.fromEntries(KEPT.map((key) => [key, block.base[key]]));
    const plan = readPlan({ ...shared, ...raw, roads: raw.roads.map((road) => ({ ...road, parts: road.parts || roadParts.get(road.code) })) });
    plan.land = base.land;
    read.set(i, plan);
  }
  return read.get(i);
}
const laneKey = (lane) => [lane.start.code, lane.end.code, lane.material].join(" ");
const signed = (value, digits) => {
  const text = figure(Math.abs(value), digits);
  return /[1-9]/.test(text) ? (value < 0 ? "−" : "+") + text : "0";
};

let now = null;
const shared = {
  plan: base,
  get state() { return now.left.state; },
  get map() { return now.left.map; },
  set: (changes) => { now.left.set(changes); now.right.set(changes); update(); },
  setPeriod: (period) => { now.left.setPeriod(period); now.right.setPeriod(period); update(); },
  select: (id, focus = false) => choose(now.left, base.place.get(id) || planOf(now.at).place.get(id) || null, focus),
};

/* Both panes show the same place: a lane by its ends, as its number may differ. */
let busy = false;
function choose(from, chosen, focus) {
  if (busy) return;
  busy = true;
  const lanes = new Map();
  for (const pane of [now.left, now.right]) {
    let id = chosen && chosen.id;
    if (chosen && chosen.kind === "lane") {
      pane.plan.lanes.forEach((lane) => lanes.set(laneKey(lane), lane));
      const same = pane.plan.lanes.find((lane) => laneKey(lane) === laneKey(chosen));
      id = same && same.id;
    }
    pane.select(id || null);
  }
  busy = false;
  update();
  if (chosen && focus) [byId("left-card"), byId("right-card")].find((card) => !card.hidden).focus();
  if (!chosen && focus) from.root.focus({ preventScroll: true });
}

/* Marks around sites whose yard the change opens, closes or resizes. */
function marks(outcome, here) {
  const { opened, closed, resized } = outcome.yards, found = new Map();
  const put = (code, kind, text) => found.set(`yard:${code}`, { ...MARKS[kind], text });
  for (const code of opened) put(code, "opened", "opened by the change");
  for (const code of closed) put(code, "closed", "closed by the change");
  for (const [code, before, after] of resized) put(code, "resized", `resized by the change, from ${before} to ${after}`);
  return (site) => found.get(site.id) || null;
}

function makePane(side, plan, label, outcome, only, start) {
  const root = h("div", {});
  byId(side).replaceChildren(root);
  const pane = mapPane(plan, root, {
    label, start, only, tops: scales(), mark: marks(outcome, side),
    onselect: (chosen, focus) => { if (now) choose(pane, chosen, focus); },
  });
  return pane;
}
/* One scale for the base and every change, so that all of them compare. */
let joint = null;
function scales() {
  if (!joint) joint = block.outcomes.map((_, i) => tops(planOf(i))).reduce(jointTops, tops(base));
  return joint;
}

function show(at) {
  const outcome = block.outcomes[at], other = planOf(at), before = now;
  const keys = (plan) => new Set(plan.lanes.map(laneKey)), mine = keys(base), theirs = keys(other);
  const lost = base.lanes.filter((lane) => !theirs.has(laneKey(lane))), gained = other.lanes.filter((lane) => !mine.has(laneKey(lane)));
  const start = before ? { ...before.left.state, chosen: null } : { haulage: "flows", largest: 60 };
  const view = before && { center: before.left.map.getCenter(), zoom: before.left.map.getZoom() };
  const mode = before ? before.mode : "differences";
  if (before) { before.left.map.remove(); before.right.map.remove(); }
  now = null;
  const only = (list) => { const set = new Set(list); return (lane) => (now ? now.mode : mode) !== "differences" || set.has(lane); };
  const left = makePane("left", base, "Map of the base plan", outcome, only(lost), start);
  const right = makePane("right", other, "Map of the plan after the change", outcome, only(gained), start);
  linkViews(left, right);
  if (view) left.map.setView(view.center, view.zoom, { animate: false });
  else right.map.setView(left.map.getCenter(), left.map.getZoom(), { animate: false });
  now = { at, left, right, mode, lost, gained };
  byId("story").replaceChildren(h("strong", {}, name(outcome.title)), outcome.story ? ": " : "", name(outcome.story));
  byId("told").replaceChildren(...outcome.told.map((sentence) => h("li", {}, name(sentence))));
  byId("told").hidden = !outcome.told.length;
  differences(outcome);
  showTables(outcome);
  update();
}

const total = (pane) => sum(pane.plan.open.map((yard) => sum(intakeOf(pane, yard).map((p) => p.value))));
let stripUpdate = null, controlsUpdate = null;
function update() {
  if (!now) return;
  const { left, right } = now, a = total(left), b = total(right);
  const what = now.mode !== "differences" ? "" : "; flows drawn are those of this plan alone";
  const words = (pane, title, t, more) => [h("strong", {}, name(shorten(title, 90))), `${pane.periodName()}: ${tonnes(t)} hauled to ${figure(pane.plan.open.length, 0)} ${pane.plan.open.length === 1 ? "yard" : "yards"}${more}${what}`];
  byId("left-words").replaceChildren(...words(left, "Base plan", a, ""));
  byId("right-words").replaceChildren(...words(right, `After: ${block.outcomes[now.at].title}`, b, ` (${signed(b - a)} t)`));
  for (const [side, pane] of [["left", left], ["right", right]]) {
    const card = byId(`${side}-card`);
    showCard(card, pane);
    for (const part of card.querySelectorAll("[id]")) part.removeAttribute("id");
    const changed = pane.state.chosen && pane.options.mark(pane.state.chosen);
    if (changed) card.querySelector(".kind").after(h("p", {}, `The yard is ${changed.text}. `, name(block.outcomes[now.at].proof)));
    if (!card.hidden) card.querySelector("h2").prepend(side === "left" ? "Base plan: " : "After the change: ");
  }
  if (stripUpdate) stripUpdate();
  if (controlsUpdate) controlsUpdate();
  legend();
}

function legend() {
  const element = byId("legend"), { yards } = block.outcomes[now.at];
  showLegend(element, now.left);
  const ringed = (kind) => swatch(s("circle", { r: 7, fill: "none", stroke: MARKS[kind].colour, "stroke-width": 3, "stroke-dasharray": MARKS[kind].dash || null }));
  const keys = [["opened", "Yard opened by the change"], ["closed", "Yard closed by the change"], ["resized", "Yard resized by the change"]].filter(([kind]) => yards[kind].length);
  if (keys.length) element.querySelector("h2").after(h("div", { class: "legend-block" }, h("p", { class: "legend-title" }, "What differs, ringed on both maps"), keys.map(([kind, text]) => key(ringed(kind), text))));
}

const go = (id, text) => h("button", { class: "go", type: "button", onclick: () => { shared.select(id, false); byId("left").scrollIntoView({ block: "nearest" }); } }, name(shorten(text, 60)));
const yardName = (code) => { const site = base.place.get(`yard:${code}`) || planOf(now.at).place.get(`yard:${code}`); return go(`yard:${code}`, site ? site.name : code); };

/* A table with a heading of its own; numbers stand to the right. */
function table(title, head, body, after) {
  const right = head.map((_, i) => i > 0 && body.every((row) => typeof row[i] === "string" && /^[-−+]?[\d–]/.test(row[i])));
  const cell = (tag, scope) => (value, i) => h(tag, { class: right[i] ? "n" : null, scope }, value);
  return [h("h3", {}, title), h("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": title }, h("table", {}, h("thead", {}, h("tr", {}, head.map(cell("th", "col")))), h("tbody", {}, body.map((row) => h("tr", {}, row.map(cell("td", null))))))), after && h("p", { class: "small" }, after)].filter(Boolean);
}
function laneTable(title, list) {
  const sorted = [...list].sort((a, b) => b.year - a.year), rest = sorted.slice(MOST);
  if (!sorted.length) return [h("h3", {}, title), h("p", { class: "small" }, "None.")];
  const pane = list === now.lost ? now.left : now.right;
  return table(`${title}: ${figure(list.length, 0)}, ${tonnes(sum(list.map((x) => x.year)))} a year`, ["from", "to", "t a year"],
    sorted.slice(0, MOST).map((lane) => [h("span", {}, chip(pane.plan.material.get(lane.material)), " ", h("button", { class: "go", type: "button", onclick: () => choose(pane, lane, false) }, name(shorten(lane.start.name, 40)))), name(shorten(lane.end.name, 40)), figure(lane.year)]),
    rest.length ? `and ${figure(rest.length, 0)} smaller, ${tonnes(sum(rest.map((x) => x.year)))} a year together` : "");
}
function differences(outcome) {
  const { opened, closed, resized } = outcome.yards;
  const list = (title, codes, words) => [h("h3", {}, `${title}: ${figure(codes.length, 0)}`), codes.length ? h("ul", {}, codes.map((x) => h("li", {}, ...words(x)))) : h("p", { class: "small" }, "None.")];
  byId("differences").replaceChildren(h("h2", {}, "What differs"),
    ...list("Yards opened", opened, (code) => [yardName(code)]), ...list("Yards closed", closed, (code) => [yardName(code)]),
    ...list("Yards resized", resized, ([code, before, after]) => [yardName(code), ": ", name(before), " to ", name(after)]),
    ...laneTable("Lanes lost (left map)", now.lost), ...laneTable("Lanes gained (right map)", now.gained));
}

function showTables(outcome) {
  const { currency } = base, other = planOf(now.at);
  const yearly = outcome.figures.filter(([, unit]) => unit === `${currency}/yr`), unit = moneyUnit(base, yearly.flatMap((row) => row.slice(2)));
  const plus = (of, value) => (value > 0 && /[1-9]/.test(of.text(value)) ? "+" : "") + of.text(value);
  const keyRow = ([label, of, a, b, c]) => {
    const paid = yearly.some((row) => row[0] === label), show = label === "Net cost" ? unit.net : paid ? unit.text : figure;
    const more = label === "Proven gap" || a === null || c === null ? "–" : paid ? plus(unit, c - a) : signed(c - a);
    return [h("span", {}, of ? `${label}, ` : label, name(paid ? `${unit.name}/yr` : of)), show(a), show(b), show(c), more];
  };
  const materials = base.materials.map((m) => {
    const of = (plan) => sum(plan.lanes.filter((lane) => lane.material === m.code).map((lane) => lane.year));
    return [h("span", {}, chip(base.material.get(m.code)), " ", name(m.name)), figure(of(base)), figure(of(other)), signed(of(other) - of(base))];
  });
  const lines = outcome.money.filter(([, , a, b]) => Math.abs(a) >= 0.5 || Math.abs(b) >= 0.5);
  const sums = [2, 4].map((i) => outcome.figures[0][i]);
  const moved = outcome.sources, gain = moved.filter(([, , , , a, b]) => b > a).length;
  byId("tables").replaceChildren(h("h2", {}, "The change in figures"),
    ...table("Key figures", ["figure", "base", "yards as in the base", "all planned afresh", "afresh less base"], outcome.figures.map(keyRow),
      outcome.proof),
    ...table("Collected by feedstock, t a year", ["feedstock", "base", "after", "difference"], materials),
    ...table(`Cost of the year by line, ${unit.name}`, ["account", "line", "base", "after", "difference"], [...lines.map(([account, line, a, b]) => [account, name(line), unit.text(a), unit.text(b), plus(unit, b - a)]), ["Net cost", "", unit.net(sums[0]), unit.net(sums[1]), plus(unit, sums[1] - sums[0])]]),
    ...table("Who gains and who loses, by district, t a year", ["district", "collected, base", "after", "difference", "compost, base", "after", "difference"], outcome.districts.map(([district, a, b, c, d]) => [name(district), figure(a), figure(b), signed(b - a), figure(c), figure(d), signed(d - c)])),
    ...(moved.length ? table("Who gains and who loses, by source, t collected a year", ["source", "district", "base", "after", "difference"], moved.slice(0, MOST_SOURCES).map(([code, text, district, , a, b]) => [go(`source:${code}`, text), name(district), figure(a), figure(b), signed(b - a)]),
      `${figure(gain, 0)} sources have more collected, ${figure(moved.length - gain, 0)} less${moved.length > MOST_SOURCES ? `; the ${MOST_SOURCES} that change most are shown` : ""}.`) : [h("h3", {}, "Who gains and who loses, by source"), h("p", { class: "small" }, "No source has more or less collected.")]));
}

/* Feedstocks and haulage of both maps. */
function controls() {
  const materials = base.materials.map((m) => choice("checkbox", "feedstock", m.name, true, (on) => {
    const kept = new Set(shared.state.materials);
    if (on) kept.add(m.code); else kept.delete(m.code);
    shared.set({ materials: kept });
  }, chip(base.material.get(m.code)), m.code));
  const modes = [["differences", "Lanes that differ"], ["roads", "Load on roads"], ["all", "Largest flows"], ["none", "None"]];
  const radios = modes.map(([value, text]) => choice("radio", "haulage", text, value === now.mode, () => {
    now.mode = value;
    shared.set({ haulage: value === "differences" || value === "all" ? "flows" : value });
  }, null, value));
  const flag = (text, key, first = true) => choice("checkbox", key, text, first, (on) => shared.set({ [key]: on }));
  byId("layers").append(group("Haulage", "haulage", radios), group("Feedstocks", "feedstocks", materials), group("Show", "show", flag("Compost", "compost"), flag("Sources", "sources"), flag("Markets", "markets"), flag("Unused sites", "unused")), group("Names", "names", flag("Yards", "labels"), flag("Unused sites", "siteNames", false), flag("Sources", "sourceNames", false), flag("Markets", "marketNames", false)));
  return () => {
    for (const input of byId("layers").querySelectorAll("input")) {
      const { name: of, value } = input;
      input.checked = input.type === "radio" ? now.mode === value : of === "feedstock" ? shared.state.materials.has(value) : shared.state[of];
    }
  };
}

function printing() {
  let view = null;
  const redraw = (place) => {
    for (const pane of [now.left, now.right]) pane.map.invalidateSize({ animate: false, pan: false });
    place(now.left.map);
    for (const pane of [now.left, now.right]) pane.redraw();
  };
  window.addEventListener("beforeprint", () => {
    const { map } = now.left;
    view = { center: map.getCenter(), zoom: map.getZoom(), bounds: map.getBounds() };
    document.body.classList.add("printing");
    redraw((left) => left.fitBounds(view.bounds, { animate: false }));
  });
  window.addEventListener("afterprint", () => {
    document.body.classList.remove("printing");
    redraw((left) => left.setView(view.center, view.zoom, { animate: false }));
  });
}

const pickChange = byId("change");
pickChange.append(...block.outcomes.map((outcome, i) => h("option", { value: i }, shorten(outcome.title, 80))));
pickChange.addEventListener("change", () => show(Number(pickChange.value)));
show(0);
stripUpdate = makeStrip(byId("strip"), shared);
controlsUpdate = controls();
makeSearch(byId("find"), byId("hits"), shared);
update();
printing();
document.addEventListener("keydown", (event) => { if (event.key === "Escape" && shared.state.chosen) shared.select(null); });
window.loamhaul = { show, set: shared.set, setPeriod: shared.setPeriod, select: shared.select, get now() { return now; }, ready: performance.now() };
