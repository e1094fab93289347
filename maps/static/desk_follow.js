/*
 * A plan under way: what the worker tells, as figures, a picture of the gap and words.
 *
 * All comes from the plan's file of events, from its beginning, so a page that is loaded
 * again shows the same. When the desk is away the page tries again by itself.
 */
"use strict";

const root = document.getElementById("follow");
const byId = (id) => document.getElementById(id);
const whole = new Intl.NumberFormat("en", { maximumFractionDigits: 0 });
const write = (value) => (value === null || value === undefined ? "–" : whole.format(value).replace("-", "−"));
const AGGREGATE = "first yards"; // its bound is of a simpler problem
const PHASES = {
  "first yards": "looking for good yards",
  "first plan": "making a first plan with them",
  "proof": "improving the plan and proving how good it is",
  "small loads": "leaving out loads too small to drive",
};

let points = [];
let old = null;
let unit = "";
let latest = null; // the last word on solving, while a solver is at work
let goal = null; // when the search of the full answer began [s since 1970]

function begin() {
  points = [];
  old = goal = null;
}

function take(event) {
  if (event.kind !== "progress" && event.kind !== "state") latest = null;
  if (event.kind === "start") begin();
  if (event.kind === "phase") {
    byId("phase").textContent = event.words[0].toUpperCase() + event.words.slice(1);
    byId("left").textContent = "";
  }
  if (event.kind === "count") byId("left").textContent = event.words;
  if (event.kind === "first") {
    old = event.cost;
    byId("old").textContent = write(old);
    byId("old-one").hidden = false;
    map("first", "First answer: the yards of the last plan, on today's tables");
  }
  if (event.kind === "best") map("best", "The plan found; report and tables follow");
  if (event.kind === "goal") {
    unit = event.unit;
    goal = event.at;
    for (const place of document.querySelectorAll(".unit")) place.textContent = unit;
  }
  if (event.kind === "progress") progress(event);
  if (event.kind === "state") {
    if (["done", "failed", "interrupted"].includes(event.state)) location.reload();
    else if (event.state !== "waiting") {
      byId("stop").hidden = false;
      byId("drop").textContent = "Give up, keep nothing";
    }
  }
}

/* The time goes on between two words of the solver. */
function tick() {
  if (!latest) return;
  const spent = latest.seconds + Math.max(Date.now() / 1000 - latest.at, 0);
  byId("left").textContent = [`${write(spent)} s`, latest.left].filter(Boolean).join(" · ");
  redraw();
}
setInterval(tick, 1000);

/* Show the newest map in the frame below, once. */
function map(part, title) {
  const place = byId("so-far");
  const frame = place.querySelector("iframe");
  const address = `${root.dataset.files}${part}/map.html`;
  if (frame.getAttribute("src") !== address) frame.src = address;
  byId("so-far-title").textContent = title;
  place.hidden = false;
}

function progress(event) {
  const words = PHASES[event.phase] || event.phase || "planning";
  const which = event.step === "first" ? "First answer with the yards of the last plan" : "Planning";
  const phase = `${which}: ${words}`;
  if (byId("phase").textContent !== phase) byId("phase").textContent = phase;
  latest = event;
  tick();
  if (event.step !== "full" || event.phase === AGGREGATE) return;
  const last = points[points.length - 1] || { best: null, bound: null };
  const best = event.incumbent ?? last.best;
  const bound = proven(last.bound, event.bound, best);
  const gap = bound === event.bound || event.gap === null ? event.gap : (best - bound) / Math.abs(best);
  // The clock, not the solver's seconds: these begin anew with each of its programmes.
  points.push({ at: goal === null ? event.seconds : Math.max(event.at - goal, 0), best, bound });
  const told = gap !== null && gap <= 1; // a bound far off says nothing yet
  byId("best").textContent = write(best);
  byId("bound").textContent = told ? write(bound) : "nothing yet";
  byId("gap").textContent = told ? (gap * 100).toFixed(2) : "above 100";
}

/* What was proven stays proven: a later programme of the same plan has fewer choices (trucks
   and contents are held), so no plan of it is below the bound of an earlier one. */
function proven(before, now, best) {
  if (now === null || now === undefined) return before;
  return before !== null && before > now && (best === null || before <= best) ? before : now;
}

const NS = "http://www.w3.org/2000/svg";
const WIDE = 1160, HIGH = 230, LEFT = 96, RIGHT = 14, TOP = 12, FOOT = 30;

function add(parent, name, values, text) {
  const made = document.createElementNS(NS, name);
  for (const key of Object.keys(values)) made.setAttribute(key, values[key]);
  if (text !== undefined) made.textContent = text;
  parent.append(made);
  return made;
}

/* Lowest and highest value shown: bounds far below everything would flatten the rest. */
function range() {
  const best = points.map((p) => p.best).filter((v) => v !== null);
  if (old !== null) best.push(old);
  const bounds = points.map((p) => p.bound).filter((v) => v !== null);
  if (!best.length) return null;
  const high = Math.max(...best);
  const near = Math.min(...best);
  const floor = near - Math.max(Math.abs(near) * 0.25, high - near);
  const low = Math.min(near, ...bounds.filter((v) => v >= floor));
  const room = Math.max((high - low) * 0.08, Math.abs(high) * 1e-3, 1e-9);
  return [low - room, high + room];
}

function draw() {
  const picture = byId("picture");
  picture.replaceChildren();
  const shown = range();
  if (!shown || !points.length) return;
  const [low, high] = shown;
  const searching = latest && latest.step === "full" && goal !== null;
  const end = Math.max(points[points.length - 1].at, searching ? Date.now() / 1000 - goal : 1);
  const x = (at) => LEFT + (at / end) * (WIDE - LEFT - RIGHT);
  const y = (value) => TOP + ((high - Math.max(value, low)) / (high - low)) * (HIGH - TOP - FOOT);
  for (const part of [0, 0.5, 1]) {
    const value = low + part * (high - low);
    add(picture, "line", { x1: LEFT, x2: WIDE - RIGHT, y1: y(value), y2: y(value), class: "grid" });
    add(picture, "text", { x: LEFT - 8, y: y(value) + 4, "text-anchor": "end" }, write(value));
    add(picture, "text", { x: x(part * end), y: HIGH - 8, "text-anchor": part === 1 ? "end" : part ? "middle" : "start" }, `${(part * end).toFixed(end < 10 ? 1 : 0)} s`);
  }
  if (old !== null) add(picture, "line", { x1: LEFT, x2: WIDE - RIGHT, y1: y(old), y2: y(old), class: "old" });
  const both = points.filter((p) => p.best !== null && p.bound !== null);
  if (both.length) {
    const over = steps(both, "best", x, y, end), under = steps(both, "bound", x, y, end).reverse();
    add(picture, "polygon", { points: [...over, ...under].map((p) => p.join()).join(" "), class: "between" });
  }
  for (const name of ["bound", "best"]) {
    const known = points.filter((p) => p[name] !== null);
    if (known.length) add(picture, "polyline", { points: steps(known, name, x, y, end).map((p) => p.join()).join(" "), class: name });
  }
}

/* A value holds until the next is told: steps, not slopes. */
function steps(known, name, x, y, end) {
  const found = [];
  known.forEach((point, i) => {
    if (i) found.push([x(point.at), y(known[i - 1][name])]);
    found.push([x(point.at), y(point[name])]);
  });
  found.push([x(end), y(known[known.length - 1][name])]);
  return found;
}

function tell() {
  const last = points[points.length - 1];
  if (!last || last.best === null) return;
  const first = points.find((p) => p.best !== null);
  const words = [`Best plan found: ${write(last.best)} ${unit}`];
  if (first.best !== last.best) words.push(`the first one found: ${write(first.best)}`);
  if (last.bound !== null && last.bound >= last.best - Math.abs(last.best)) words.push(`no plan can be below ${write(last.bound)}`);
  byId("told").textContent = `${words.join("; ")}.`;
}

let due = false;
function redraw() {
  if (due) return;
  due = true;
  requestAnimationFrame(() => {
    due = false;
    draw();
    tell();
  });
}

function listen() {
  const source = new EventSource(root.dataset.events);
  let fresh = true;
  source.onmessage = (message) => {
    if (fresh && !message.lastEventId) begin();
    fresh = false;
    take(JSON.parse(message.data));
    redraw();
  };
  source.onerror = () => {
    if (source.readyState !== EventSource.CLOSED) return;
    byId("left").textContent = "The desk does not answer; this page tries again.";
    setTimeout(() => {
      begin();
      listen();
    }, 3000);
  };
}

listen();
