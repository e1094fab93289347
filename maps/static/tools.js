/* Data, numbers, elements and the signs of feedstocks. Names only ever become text. */
const DATA = JSON.parse(document.getElementById("data").textContent);
const SVG = "http://www.w3.org/2000/svg";
const SHAPES = ["circle", "triangle", "square", "diamond", "hexagon", "wedge", "cross", "bar"];
const WHOLE = -1;

const state = {
  period: WHOLE, chosen: null, materials: new Set(), compost: true,
  sources: true, unused: true, markets: true, labels: true, lanes: true,
};

const material = new Map(DATA.materials.map((m, i) => [m.code, { ...m, shape: SHAPES[i % SHAPES.length] }]));
DATA.materials.forEach((m) => state.materials.add(m.code));
material.set("compost", { ...DATA.compost, shape: "leaf" });
const place = new Map();
DATA.yards.forEach((p) => place.set("yard:" + p.code, { ...p, kind: "yard" }));
DATA.sources.forEach((p) => place.set("source:" + p.code, { ...p, kind: "source" }));
DATA.markets.forEach((p) => place.set("market:" + p.code, { ...p, kind: "market" }));
const lanes = DATA.lanes.map((lane, index) => ({
  ...lane, index,
  start: place.get((lane.kind === "in" ? "source:" : "yard:") + lane.from),
  end: place.get((lane.kind === "in" ? "yard:" : "market:") + lane.to),
}));
const isOpen = (yard) => yard.status === "open" || yard.status === "existing";

const sum = (list) => list.reduce((a, b) => a + (b || 0), 0);
/* Value of a list by period in the chosen period, or its sum over the year. */
const now = (list) => (state.period === WHOLE ? sum(list) : list[state.period] || 0);
const periodName = () => (state.period === WHOLE ? "Whole year" : DATA.periods[state.period].name);

function figure(value, digits) {
  if (value === null || value === undefined || Number.isNaN(value)) return "–";
  const places = digits ?? (Math.abs(value) >= 100 || value === 0 ? 0 : Math.abs(value) >= 10 ? 1 : 2);
  const text = value.toLocaleString("en", { minimumFractionDigits: digits === undefined ? 0 : digits, maximumFractionDigits: places });
  return /[1-9]/.test(text) ? text : text.replace("-", "");
}
const tonnes = (value) => figure(value) + " t";

/* Make an element; `text` is always text, never markup. */
function h(tag, attributes, ...children) {
  const element = document.createElement(tag);
  fill(element, attributes, children);
  return element;
}
function s(tag, attributes, ...children) {
  const element = document.createElementNS(SVG, tag);
  fill(element, attributes, children);
  return element;
}
function fill(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes || {})) {
    if (name === "onclick") element.addEventListener("click", value);
    else if (value !== null && value !== undefined && value !== false) element.setAttribute(name, value);
  }
  children.flat().forEach((child) => {
    if (child !== null && child !== undefined && child !== false) element.append(child);
  });
}
const name = (text) => h("bdi", {}, text);

/* Path of a feedstock's sign around 0,0 with about the area of a circle of radius r. */
function sign(shape, r) {
  const points = (list) => "M" + list.map(([x, y]) => `${(x * r).toFixed(2)} ${(y * r).toFixed(2)}`).join("L") + "Z";
  switch (shape) {
    case "triangle": return points([[0, -1.4], [1.3, 0.9], [-1.3, 0.9]]);
    case "square": return points([[-0.89, -0.89], [0.89, -0.89], [0.89, 0.89], [-0.89, 0.89]]);
    case "diamond": return points([[0, -1.3], [1.2, 0], [0, 1.3], [-1.2, 0]]);
    case "hexagon": return points([[-1.1, 0], [-0.55, -0.95], [0.55, -0.95], [1.1, 0], [0.55, 0.95], [-0.55, 0.95]]);
    case "wedge": return points([[0, 1.4], [1.3, -0.9], [-1.3, -0.9]]);
    case "cross": return points([[-0.4, -1.2], [0.4, -1.2], [0.4, -0.4], [1.2, -0.4], [1.2, 0.4], [0.4, 0.4], [0.4, 1.2], [-0.4, 1.2], [-0.4, 0.4], [-1.2, 0.4], [-1.2, -0.4], [-0.4, -0.4]]);
    case "bar": return points([[-1.3, -0.6], [1.3, -0.6], [1.3, 0.6], [-1.3, 0.6]]);
    case "leaf": return `M0 ${-1.5 * r}C${1.5 * r} ${-0.6 * r} ${1.3 * r} ${0.9 * r} 0 ${1.3 * r}C${-1.3 * r} ${0.9 * r} ${-1.5 * r} ${-0.6 * r} 0 ${-1.5 * r}Z`;
    default: return `M${-r} 0A${r} ${r} 0 1 1 ${r} 0A${r} ${r} 0 1 1 ${-r} 0Z`;
  }
}
function chip(code) {
  const m = material.get(code);
  return s("svg", { width: 16, height: 16, viewBox: "-8 -8 16 16", "aria-hidden": "true" },
    s("path", { d: sign(m.shape, 5), fill: m.colour }));
}

/* Ring of shares between two radii; one part alone is a full ring. */
function ring(parts, outer, inner) {
  const total = sum(parts.map((p) => p.value));
  const spot = (radius, turn) => {
    const a = turn * 2 * Math.PI - Math.PI / 2;
    return `${(radius * Math.cos(a)).toFixed(2)} ${(radius * Math.sin(a)).toFixed(2)}`;
  };
  let from = 0;
  return parts.filter((p) => p.value > 0).map((p) => {
    const to = Math.min(from + p.value / total, from + 0.99999);
    const big = to - from > 0.5 ? 1 : 0;
    const d = `M${spot(outer, from)}A${outer} ${outer} 0 ${big} 1 ${spot(outer, to)}L${spot(inner, to)}A${inner} ${inner} 0 ${big} 0 ${spot(inner, from)}Z`;
    from = to;
    return s("path", { d, fill: p.colour });
  });
}

/* What a yard takes in, by material, in the chosen period. */
function intake(code) {
  const parts = new Map();
  lanes.forEach((lane) => {
    if (lane.kind === "in" && lane.to === code) parts.set(lane.material, (parts.get(lane.material) || 0) + now(lane.t));
  });
  return DATA.materials.filter((m) => parts.get(m.code) > 0)
    .map((m) => ({ code: m.code, colour: m.colour, name: m.name, value: parts.get(m.code) }));
}
const intakeTotal = (code) => sum(intake(code).map((p) => p.value));

/* Round numbers for a legend: about the top, a third and a tenth of it. */
function niceSteps(top) {
  if (!(top > 0)) return [];
  const nice = (x) => {
    const power = 10 ** Math.floor(Math.log10(x));
    return [5, 2, 1].find((k) => k * power <= x) * power;
  };
  return [...new Set([nice(top * 0.1), nice(top * 0.35), nice(top)])];
}
