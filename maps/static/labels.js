/* Names on the map, weightiest first; one that would cover another is left out. */
const style = getComputedStyle(document.documentElement);
const YARD_FONT = `650 13px ${style.getPropertyValue("--sans")}`, SMALL_FONT = YARD_FONT.replace("13px", "11.5px"), PLACE_FONT = YARD_FONT.replace("650 13px", "11.5px"), VILLAGE_FONT = `italic 12px ${style.getPropertyValue("--serif")}`;
const LONGEST_NAME = 26;

function drawLabels(pane) {
  const { state, plan } = pane, corner = pane.map.containerPointToLayerPoint([0, 0]), size = pane.map.getSize();
  const view = { x0: corner.x + 3, y0: corner.y + 3, x1: corner.x + size.x - 3, y1: corner.y + size.y - 3 };
  const spot = (site, r) => { const at = pane.point(site.at); return { at, r, box: { x0: at.x - r, x1: at.x + r, y0: at.y - r, y1: at.y + r } }; };
  const corners = [{ x0: view.x1 - 52, x1: view.x1, y0: view.y0, y1: view.y0 + 84 }, { x0: view.x1 - 140, x1: view.x1, y0: view.y1 - 28, y1: view.y1 }, { x0: view.x0, x1: view.x0 + Math.min(310, size.x - 80), y0: view.y0, y1: view.y0 + (size.x < 600 ? 56 : 38) }];
  const yards = plan.open.map((yard) => {
    const t = sum(intakeOf(pane, yard).map((p) => p.value));
    return { ...spot(yard, yardRadius(pane, t) + (yard === state.chosen ? 5 : 0)), site: yard, weight: t, lines: [...twoLines(yard.name), tonnes(t)] };
  }).sort((a, b) => (b.site === state.chosen) - (a.site === state.chosen) || b.weight - a.weight);
  const sites = plan.yards.filter((yard) => !yard.intake && (state.unused || yard === state.chosen)).map((yard) => ({ ...spot(yard, 7), site: yard }));
  const sources = state.sources ? plan.sources.filter((x) => state.materials.has(x.material) && pane.now(x.supply) > 0).map((x) => ({ ...spot(x, sourceRadius(pane, pane.now(x.supply))), site: x, weight: pane.now(x.supply) })) : [];
  const markets = state.markets ? plan.markets.filter((x) => pane.now(x.demand) > 0).map((x) => ({ ...spot(x, 6), site: x, weight: pane.now(x.demand) })) : [];
  const hard = [...corners, ...yards.map((y) => y.box)], signs = [...sites, ...sources, ...markets].map((x) => x.box);
  const font = size.x < 600 ? SMALL_FONT : YARD_FONT;
  pane.groups.labels.classList.toggle("fine", size.x < 600);
  if (state.labels) {
    for (const yard of yards) putYard(pane, yard, view, hard, signs, font);
    const chosen = state.chosen;
    if (chosen && chosen.at && !chosen.intake) putOne(pane, { ...spot(chosen, 8), lines: twoLines(chosen.name) }, view, hard, [], font, "chosen");
  }
  const others = [...(state.siteNames ? sites : []), ...(state.marketNames ? heaviest(markets) : []), ...(state.sourceNames ? heaviest(sources) : [])].filter((x) => x.site !== state.chosen || !state.labels);
  const left = others.filter((x) => !putOne(pane, { ...x, lines: twoLines(x.site.name) }, view, hard, signs, PLACE_FONT, "place-name"));
  pane.unnamed = left.filter(({ at }) => at.x > view.x0 && at.x < view.x1 && at.y > view.y0 && at.y < view.y1).length;
  if (pane.options.onlabel) pane.options.onlabel(pane);
  if (!state.villages) return;
  for (const village of pane.villages) {
    const here = spot(village, village.water ? 0 : 4);
    putOne(pane, { ...here, lines: [shorten(village.name, LONGEST_NAME)], water: village.water }, view, hard, signs, VILLAGE_FONT, village.water ? "village water" : "village");
  }
}
/* A long name in two lines, cut between words: what tells two places apart may stand last. */
function twoLines(text) {
  const signs = [...text];
  if (signs.length <= LONGEST_NAME) return [text];
  const off = (i) => Math.abs(i - signs.length / 2) + (signs[i - 1] === "," ? 0 : 8) + (signs.length - i > LONGEST_NAME + 1 ? 30 : 0);
  const [gap] = signs.map((sign, i) => i).filter((i) => signs[i] === " " && i > 3 && i <= LONGEST_NAME).sort((a, b) => off(a) - off(b));
  return gap === undefined ? [shorten(text, LONGEST_NAME)] : [signs.slice(0, gap).join(""), shorten(signs.slice(gap + 1).join(""), LONGEST_NAME)];
}
const heaviest = (list) => [...list].sort((a, b) => b.weight - a.weight);

const meet = (a, b) => a.x0 < b.x1 && a.x1 > b.x0 && a.y0 < b.y1 && a.y1 > b.y0;
const inside = (a, b) => a.x0 >= b.x0 && a.x1 <= b.x1 && a.y0 >= b.y0 && a.y1 <= b.y1;

/* Places for a label around a sign: anchor, and the middle of its first line. */
function spots({ r, water }, count) {
  if (water) return [["middle", 0, 4]];
  const low = 4 - 7 * (count - 1), up = -6 - 14 * (count - 1);
  return [["middle", 0, r + 15], ["start", r + 6, low], ["end", -r - 6, low], ["middle", 0, -r + up],
    ["start", r * 0.7 + 4, r * 0.7 + 12], ["end", -r * 0.7 - 4, r * 0.7 + 12], ["start", r * 0.7 + 5, -r * 0.7 + up], ["end", -r * 0.7 - 5, -r * 0.7 + up]];
}
function boxes(label, font) {
  const width = Math.max(...label.lines.map((line) => textWidth(line, font))) + 4, count = label.lines.length;
  return spots(label, count).map(([anchor, dx, dy]) => {
    const x = label.at.x + dx, y = label.at.y + dy, left = anchor === "middle" ? x - width / 2 : anchor === "start" ? x - 2 : x - width + 2;
    return { anchor, x, y, box: { x0: left, x1: left + width, y0: y - 12, y1: y + 4 + 14 * (count - 1) } };
  }).filter(({ box }) => label.water || Math.hypot(Math.max(box.x0 - label.at.x, 0, label.at.x - box.x1), Math.max(box.y0 - label.at.y, 0, label.at.y - box.y1)) >= label.r);
}

/* A yard's label may cover the sign of a source if it must, never a name or a yard. */
function putYard(pane, yard, view, hard, signs, font) {
  const others = hard.filter((box) => box !== yard.box);
  const free = boxes(yard, font).filter(({ box }) => inside(box, view) && !others.some((other) => meet(box, other)));
  if (!free.length) return;
  const covers = free.map(({ box }) => signs.filter((other) => meet(box, other)).length);
  const best = free[covers.indexOf(Math.min(...covers))];
  hard.push(best.box);
  write(pane, best, yard.lines, "yard-name", yard.lines.length - 1);
}
function putOne(pane, label, view, hard, signs, font, kind) {
  const taken = [...hard, ...signs];
  const best = boxes(label, font).find(({ box }) => inside(box, view) && !taken.some((other) => other !== label.box && meet(box, other)));
  if (!best) return false;
  hard.push(best.box);
  write(pane, best, label.lines, kind);
  return true;
}
function write(pane, { x, y, anchor }, lines, kind, quantity) {
  lines.forEach((text, i) => pane.groups.labels.append(s("text", { x, y: y + 14 * i, "text-anchor": anchor, class: `over ${i === quantity ? "quantity" : kind}`, "aria-hidden": "true" }, text)));
}
