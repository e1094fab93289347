/* Numbers, elements and signs. Names only ever become text, never markup. */
const SVG = "http://www.w3.org/2000/svg";
const WHOLE = -1;
const INK = "#2a211a", PAPER = "#fffdf8", GREY = "#6b6157", ALARM = "#9a2f1f";

const sum = (list) => list.reduce((a, b) => a + (b || 0), 0);

/* A number with thousands separators; three figures unless `digits` says how many. */
const formats = new Map();
function figure(value, digits) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "–";
  const size = Math.abs(value);
  const most = digits ?? (size >= 99.95 || size < 0.005 ? 0 : size >= 9.995 ? 1 : 2);
  const key = `${most} ${digits === undefined}`;
  if (!formats.has(key)) formats.set(key, new Intl.NumberFormat("en", { minimumFractionDigits: digits === undefined ? 0 : most, maximumFractionDigits: most }));
  const text = formats.get(key).format(value);
  return text.replace("-", /[1-9]/.test(text) ? "−" : "");
}
/* What a card or table counts money in: the currency, or thousands or more of it. */
function moneyUnit(plan, amounts) {
  const most = Math.max(0, ...amounts.filter(Number.isFinite).map(Math.abs));
  const [, factor, word, digits] = plan.money.find(([least]) => most >= least) || [0, 1, "", 0];
  const text = (value) => figure(Number.isFinite(value) ? value / factor : null, digits);
  return { name: word ? `${word} ${plan.currency}` : plan.currency, text, net: (value) => (value < 0 && /[1-9]/.test(text(value)) ? `surplus ${text(-value)}` : text(value)) };
}
/* What one of something costs; without decimals where it is dear. */
const eachText = (value) => figure(value, Math.abs(value) >= 1e5 ? 0 : 2);
const tonnes = (value) => figure(value) + " t";
const percent = (part, whole) => (whole > 0 ? figure(100 * part / whole, 0) + " %" : "–");

/* Make an element; a child that is text stays text. */
function h(tag, attributes, ...children) {
  return fill(document.createElement(tag), attributes, children);
}
function s(tag, attributes, ...children) {
  return fill(document.createElementNS(SVG, tag), attributes, children);
}
function fill(element, attributes, children) {
  for (const [key, value] of Object.entries(attributes || {})) {
    if (key === "onclick") element.addEventListener("click", value);
    else if (value !== null && value !== undefined && value !== false) element.setAttribute(key, value);
  }
  for (const child of children.flat()) {
    if (child !== null && child !== undefined && child !== false) element.append(child);
  }
  return element;
}
const name = (text) => h("bdi", {}, text);
const shorten = (text, most) => ([...text].length > most ? [...text].slice(0, most - 1).join("") + "…" : text);

/* Width of a text on the map; measured, as letters differ. [px] */
const ruler = document.createElement("canvas").getContext("2d");
const widths = new Map();
function textWidth(text, font) {
  const key = font + text;
  if (!widths.has(key)) {
    ruler.font = font;
    widths.set(key, ruler.measureText(text).width);
  }
  return widths.get(key);
}

/* Path of a feedstock's sign around 0,0 with about the area of a circle of radius r. */
const SHAPES = {
  triangle: [[0, -1.4], [1.3, 0.9], [-1.3, 0.9]],
  square: [[-0.89, -0.89], [0.89, -0.89], [0.89, 0.89], [-0.89, 0.89]],
  diamond: [[0, -1.3], [1.2, 0], [0, 1.3], [-1.2, 0]],
  hexagon: [[-1.1, 0], [-0.55, -0.95], [0.55, -0.95], [1.1, 0], [0.55, 0.95], [-0.55, 0.95]],
  wedge: [[0, 1.4], [1.3, -0.9], [-1.3, -0.9]],
  cross: [[-0.4, -1.2], [0.4, -1.2], [0.4, -0.4], [1.2, -0.4], [1.2, 0.4], [0.4, 0.4], [0.4, 1.2], [-0.4, 1.2], [-0.4, 0.4], [-1.2, 0.4], [-1.2, -0.4], [-0.4, -0.4]],
  bar: [[-1.3, -0.6], [1.3, -0.6], [1.3, 0.6], [-1.3, 0.6]],
  hourglass: [[-1, -1.2], [1, -1.2], [0.25, 0], [1, 1.2], [-1, 1.2], [-0.25, 0]],
  star: [[0, -1.5], [0.38, -0.52], [1.43, -0.46], [0.62, 0.2], [0.88, 1.21], [0, 0.65], [-0.88, 1.21], [-0.62, 0.2], [-1.43, -0.46], [-0.38, -0.52]],
};
const SHAPE_ORDER = ["circle", ...Object.keys(SHAPES)];
function sign(shape, r) {
  if (shape === "leaf") return `M0 ${-1.5 * r}C${1.5 * r} ${-0.6 * r} ${1.3 * r} ${0.9 * r} 0 ${1.3 * r}C${-1.3 * r} ${0.9 * r} ${-1.5 * r} ${-0.6 * r} 0 ${-1.5 * r}Z`;
  if (!SHAPES[shape]) return `M${-r} 0A${r} ${r} 0 1 1 ${r} 0A${r} ${r} 0 1 1 ${-r} 0Z`;
  return "M" + SHAPES[shape].map(([x, y]) => `${(x * r).toFixed(1)} ${(y * r).toFixed(1)}`).join("L") + "Z";
}
/* A small picture beside a text, drawn around 0,0; screen readers skip it. */
function mini(width, height, ...inside) {
  return s("svg", { width, height, viewBox: `${-width / 2} ${-height / 2} ${width} ${height}`, "aria-hidden": "true" }, ...inside);
}
/* Colour of a feedstock with its texture, so that it is told apart without its colour. */
const hatches = new Map();
let hatchSheet = null;
function fillOf({ colour, texture }) {
  if (!texture) return colour;
  const key = colour + texture;
  if (!hatches.has(key)) {
    hatchSheet = hatchSheet || document.body.appendChild(s("svg", { class: "hatches", width: 0, height: 0, "aria-hidden": "true" }));
    const id = `hatch-${hatches.size}`;
    hatchSheet.append(s("pattern", { id, width: 6, height: 6, patternUnits: "userSpaceOnUse" }, s("rect", { width: 6, height: 6, fill: colour }), s("path", { d: texture, fill: "none", stroke: PAPER, "stroke-width": 1.2 })));
    hatches.set(key, `url(#${id})`);
  }
  return hatches.get(key);
}
/* A feedstock's sign on the map, and its colour and texture in rings and columns. */
const textured = (material, x) => material.texture !== undefined && s("rect", { x, y: -6, width: 13, height: 12, fill: fillOf(material), stroke: INK, "stroke-width": 0.7 });
const chip = (material) => (material.texture === undefined ? mini(16, 16, s("path", { d: sign(material.shape, 5), fill: material.colour }))
  : mini(32, 16, s("path", { d: sign(material.shape, 5), fill: material.colour, transform: "translate(-9)" }), textured(material, 1)));

/* Ring of shares between two radii; one part alone is a full ring. */
function ring(parts, outer, inner) {
  const total = sum(parts.map((p) => p.value));
  const spot = (radius, turn) => {
    const a = turn * 2 * Math.PI - Math.PI / 2;
    return `${(radius * Math.cos(a)).toFixed(2)} ${(radius * Math.sin(a)).toFixed(2)}`;
  };
  let from = 0;
  return parts.filter((p) => p.value > 0).map((p) => {
    const to = Math.min(from + p.value / total, from + 0.99999), big = to - from > 0.5 ? 1 : 0;
    const d = `M${spot(outer, from)}A${outer} ${outer} 0 ${big} 1 ${spot(outer, to)}L${spot(inner, to)}A${inner} ${inner} 0 ${big} 0 ${spot(inner, from)}Z`;
    from = to;
    return s("path", { d, fill: p.fill || p.colour, stroke: PAPER, "stroke-width": outer > 9 ? 0.8 : 0.4 });
  });
}
function yardSign(parts, r, existing) {
  return [s("circle", { r: r + 1.6, fill: INK }), s("circle", { r, fill: PAPER }), ...ring(parts, r, r * 0.52),
    s("circle", { r: r * 0.52, fill: existing ? INK : PAPER })];
}
function siteSign(status) {
  if (status === "refused") return [s("circle", { r: 5.8, fill: PAPER, stroke: ALARM, "stroke-width": 1.8 }), s("path", { d: "M-4.1 4.1L4.1 -4.1", stroke: ALARM, "stroke-width": 1.8 })];
  return [s("circle", { r: 5.5, fill: PAPER, stroke: "#4d443b", "stroke-width": 1.5, "stroke-dasharray": status === "closed" ? null : "2.2 1.8" }),
    status === "closed" ? s("path", { d: "M-3 -3L3 3M3 -3L-3 3", stroke: "#4d443b", "stroke-width": 1.5 }) : s("circle", { r: 1.3, fill: "#4d443b" })];
}

/* Round numbers for a legend: about these shares of the top, and the top. */
function niceSteps(top, low = 0.1, middle = 0.35) {
  if (!(top > 0)) return [];
  const nice = (x) => {
    const power = 10 ** Math.floor(Math.log10(x));
    return [5, 2, 1].find((k) => k * power <= x * 1.000001) * power;
  };
  return [...new Set([nice(top * low), nice(top * middle), nice(top)])];
}
