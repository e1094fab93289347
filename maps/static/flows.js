/* Haulage: load on roads, or curved flows with heads between places. */
const LOAD = "#5b4a63", LOAD_EDGE = "#fbf8f0";

/* What a road carries of the materials shown, in the period shown. */
function loadOf(pane, road) {
  let total = 0;
  for (const [code, t] of road.load) if (shows(pane, code)) total += pane.now(t);
  return total;
}
const shows = (pane, code) => (code === "compost" ? pane.state.compost : pane.state.materials.has(code));

function roadPath(pane, road) {
  if (!pane.paths.has(road)) {
    pane.paths.set(road, road.parts.map((part) => "M" + part.map((at) => {
      const p = pane.point(at);
      return `${Math.round(p.x * 10) / 10} ${Math.round(p.y * 10) / 10}`;
    }).join("L")).join(""));
  }
  return pane.paths.get(road);
}

function drawRoads(pane) {
  const { state, groups, plan } = pane, chosen = state.chosen;
  if (state.haulage !== "roads" && !(chosen && chosen.kind === "road")) return;
  const loads = plan.roads.filter((road) => road.loaded).map((road) => ({ road, t: loadOf(pane, road) }))
    .filter((x) => x.t > 0.05 || x.road === chosen).sort((a, b) => a.t - b.t);
  const faded = chosen && chosen.kind !== "road" && chosen.lanes.length ? 0.3 : 1;
  const edges = s("g", {}), lines = s("g", { opacity: faded }), grips = s("g", {});
  for (const { road, t } of loads) {
    const d = roadPath(pane, road), width = roadWidth(pane, t), on = road === chosen;
    edges.append(s("path", { d, fill: "none", stroke: on ? INK : LOAD_EDGE, "stroke-width": (width + (on ? 5 : 2.4)).toFixed(2) }));
    lines.append(s("path", { d, fill: "none", stroke: LOAD, "stroke-width": width.toFixed(2) }));
    grips.append(s("path", { d, class: "grip", "data-id": road.id, "stroke-width": Math.max(14, width), "data-title": `${road.name}: ${tonnes(t)}, ${pane.periodName()}` }));
  }
  groups.roads.append(edges, lines, grips);
}

/* Lanes drawn as curves: those of the chosen place, or the largest. */
function shownLanes(pane) {
  const { state, plan } = pane, chosen = state.chosen;
  const mine = chosen && (chosen.kind === "lane" ? [chosen] : chosen.lanes);
  const one = mine && mine.length && chosen.kind !== "road";
  const from = one ? mine : state.haulage === "flows" ? plan.lanes.filter(pane.options.only || (() => true)) : [];
  const live = from.map((lane) => ({ lane, t: pane.now(lane.t) }))
    .filter(({ lane, t }) => t > 0.005 && (shows(pane, lane.material) || lane === chosen)).sort((a, b) => b.t - a.t);
  return { drawn: one ? live : live.slice(0, state.largest), live };
}

function drawFlows(pane) {
  const { drawn } = shownLanes(pane);
  for (const { lane, t } of drawn) drawFlow(pane, lane, t);
}

function drawFlow(pane, lane, t) {
  const a = pane.point(lane.start.at), b = pane.point(lane.end.at), width = laneWidth(pane, t);
  const dx = b.x - a.x, dy = b.y - a.y, length = Math.hypot(dx, dy);
  if (length < 4) return;
  const side = (lane.out ? -0.17 : 0.17);
  const c = { x: (a.x + b.x) / 2 - dy * side, y: (a.y + b.y) / 2 + dx * side };
  const { colour } = pane.plan.material.get(lane.material);
  const head = Math.min(Math.max(5, width * 1.15), length * 0.4), rim = lane.out ? 7 : yardRadius(pane, sum(intakeOf(pane, lane.end).map((p) => p.value))) + 2;
  const curve = cut(a, c, b, Math.min(rim, length * 0.4), head * 1.3);
  const label = `${lane.name}: ${tonnes(t)} of ${pane.plan.material.get(lane.material).name}, ${pane.periodName()}`;
  const whole = `M${a.x} ${a.y}Q${c.x.toFixed(1)} ${c.y.toFixed(1)} ${b.x} ${b.y}`;
  const group = s("g", { class: "flow", "data-id": lane.id, "data-title": label, opacity: 0.85 });
  if (lane === pane.state.chosen) group.append(s("path", { d: curve.d, fill: "none", stroke: INK, "stroke-width": (width + 4).toFixed(1) }));
  group.append(s("path", { d: curve.d, fill: "none", stroke: colour, "stroke-width": width.toFixed(2), "stroke-dasharray": lane.out ? `${Math.max(5, width * 1.2).toFixed(1)} 3` : null }),
    s("path", { class: "head", d: `M${(head * 1.3).toFixed(1)} 0L${(-head * 0.3).toFixed(1)} ${(head * 0.75).toFixed(1)}L0 0L${(-head * 0.3).toFixed(1)} ${(-head * 0.75).toFixed(1)}Z`, fill: colour, transform: `translate(${curve.x.toFixed(1)} ${curve.y.toFixed(1)}) rotate(${curve.turn.toFixed(1)})` }),
    s("path", { class: "grip", d: whole, "stroke-width": Math.max(12, width) }));
  pane.groups.flows.append(group);
}

/* Cut a curve short of the sign it leads to, leaving room for the head. */
function cut(a, c, b, rim, head) {
  const at = (u) => ({ x: (1 - u) ** 2 * a.x + 2 * u * (1 - u) * c.x + u * u * b.x, y: (1 - u) ** 2 * a.y + 2 * u * (1 - u) * c.y + u * u * b.y });
  const back = (from, away) => {
    let u = 1;
    while (u > 0.05 && Math.hypot(at(u).x - from.x, at(u).y - from.y) < away) u -= 0.02;
    return u;
  };
  const tip = at(back(b, rim)), u = back(b, rim + head), end = at(u);
  const mid = { x: a.x + u * (c.x - a.x), y: a.y + u * (c.y - a.y) };
  return { d: `M${a.x} ${a.y}Q${mid.x.toFixed(1)} ${mid.y.toFixed(1)} ${end.x.toFixed(1)} ${end.y.toFixed(1)}`, ...end, turn: Math.atan2(tip.y - end.y, tip.x - end.x) * 180 / Math.PI };
}
