/*
 * Map and answers: a place is chosen on the map or in the list, a button makes a change
 * of it, the desk says what the changes do while the yards stay. All that is shown is text.
 */
"use strict";

const root = document.getElementById("answers");
const byId = (id) => document.getElementById(id);
const frame = byId("map");
const place = byId("place");
let asked = 0;

/* The card of a place: its name, and the buttons that fit it. */
function show() {
  const option = place.selectedOptions[0];
  byId("card").hidden = !place.value;
  if (!place.value) return;
  byId("card-name").textContent = option.textContent;
  byId("card-words").textContent = option.dataset.words;
  const yard = option.dataset.kind === "yard";
  byId("why-site").value = place.value;
  byId("why-month").hidden = yard;
  byId("why").textContent = yard ? (option.dataset.used === "yes" ? "Why here?" : "Why not here?") : option.dataset.kind === "source" ? "Why not all of it?" : "Why not more?";
  for (const part of byId("card").querySelectorAll("[data-for]")) {
    const fits = part.dataset.for === option.dataset.kind && (!part.dataset.when || part.dataset.when === option.dataset.used);
    part.hidden = !fits;
  }
}

function choose(id) {
  if (![...place.options].some((option) => option.value === id)) return;
  place.value = id;
  show();
}

place.addEventListener("change", () => {
  show();
  if (frame) frame.contentWindow.postMessage({ choose: place.value }, "*");
});
window.addEventListener("message", ({ source, data }) => {
  if (frame && source === frame.contentWindow && data && data.chosen) choose(String(data.chosen));
});

async function send(address, fields) {
  const body = new URLSearchParams(fields);
  const answer = await fetch(address, { method: "POST", body });
  const json = (answer.headers.get("content-type") || "").includes("json");
  const told = json ? await answer.json() : {};
  if (!answer.ok) throw new Error(told.fault || "The desk did not take this.");
  return told;
}

/* Do something to the tray, show what is in it, and ask what it does. */
async function tray(action, fields = {}) {
  byId("fault").hidden = true;
  try {
    fill(await send(root.dataset.tray + action, fields));
  } catch (error) {
    byId("fault").textContent = error instanceof TypeError ? "The desk does not answer. Start it again, then load this page." : error.message;
    byId("fault").hidden = false;
    return false;
  }
  ask();
  return true;
}

function fill(told) {
  byId("lines").replaceChildren(...told.lines.map(line));
  byId("none").hidden = told.lines.length > 0;
  byId("undo").disabled = !told.undo;
  byId("clear").disabled = byId("full").disabled = !told.lines.length;
  byId("text").value = told.text;
}

function line(words, at) {
  const item = document.createElement("li"), text = document.createElement("bdi"), button = document.createElement("button");
  text.textContent = words;
  button.type = "button";
  button.className = "quiet-button take-out";
  button.textContent = "Take out";
  button.setAttribute("aria-label", `Take out: ${words}`);
  button.addEventListener("click", async () => {
    if (await tray("remove", { place: at })) byId("lines").tabIndex = -1, byId("lines").focus();
  });
  item.append(text, " ", button);
  return item;
}

for (const button of document.querySelectorAll("[data-do]")) {
  button.addEventListener("click", () => {
    const [kind, code] = [place.value.slice(0, place.value.indexOf(":")), place.value.slice(place.value.indexOf(":") + 1)];
    const fields = { do: button.dataset.do, [`a.${kind}`]: code };
    if (button.dataset.percent) fields["a.percent"] = button.dataset.percent;
    for (const name of (button.dataset.arguments || "").split(" ").filter(Boolean)) fields[`a.${name}`] = byId(name).value;
    tray("add", fields);
  });
}
byId("undo").addEventListener("click", () => tray("undo"));
byId("clear").addEventListener("click", () => tray("clear"));
byId("save").addEventListener("submit", async (event) => {
  event.preventDefault();
  if (await tray("save", Object.fromEntries(new FormData(event.target)))) event.target.querySelector("button").textContent = "Saved";
});

/* Ask until there is an answer; a newer question takes the place of an older one. */
async function ask() {
  const mine = ++asked;
  const any = byId("lines").children.length > 0;
  byId("told").textContent = any ? "Reckoning …" : "Getting the plan ready …";
  byId("effect").classList.add("waits");
  for (;;) {
    let told;
    try {
      told = await send(root.dataset.effect, {});
    } catch (error) {
      if (mine !== asked) return;
      byId("told").textContent = error instanceof TypeError ? "The desk does not answer; this page tries again." : error.message;
      if (!(error instanceof TypeError)) return;
      await new Promise((wake) => setTimeout(wake, 2000));
      continue;
    }
    if (mine !== asked) return;
    if (told.state === "loading") byId("told").textContent = any ? "Getting the plan ready; the answer follows …" : "Getting the plan ready …";
    else if (told.state === "reckoning") byId("told").textContent = "Reckoning …";
    else {
      answer(told);
      if (told.state !== "answered" || told.mapped || !told.effect.figures) return;
      await new Promise((wake) => setTimeout(wake, 400));
    }
  }
}

function answer({ state, effect, mapped }) {
  byId("effect").classList.remove("waits");
  const refused = [...(effect.faults || []), ...(effect.obstacles || []), ...(effect.shortages || [])];
  byId("said").replaceChildren(...refused.map((words) => Object.assign(document.createElement("li"), { textContent: words })));
  byId("said").hidden = !refused.length;
  byId("figures").hidden = !effect.figures;
  byId("homes").textContent = effect.homes || "";
  byId("homes").hidden = !effect.homes;
  byId("as-tried").disabled = !(frame && mapped && effect.figures);
  if (!effect.figures && frame) shown(false);
  if (effect.figures) {
    const cost = effect.money[effect.money.length - 1];
    const more = cost[3] === "0" ? "no change" : cost[3];
    byId("told").textContent = `Net cost ${cost[1]} → ${cost[2]} ${effect.currency} a year (${more})${effect.shortages.length ? ". Demands are left unmet:" : ""}`;
    table("t-figures", effect.figures.map(([label, unit, ...rest]) => [unit ? `${label} [${unit}]` : label, ...rest]));
    table("t-money", effect.money);
    table("t-moved", effect.moved, 2);
    table("t-yards", effect.yards);
    document.querySelector(".unit").textContent = `[${effect.currency}/yr]`;
    if (mapped && byId("as-tried").getAttribute("aria-pressed") === "true") shown(true);
  } else if (state === "ready") byId("told").textContent = "The plan is ready. Nothing is changed yet.";
  else if (effect.obstacles) byId("told").textContent = "The yards cannot stay as planned; a full plan can look for others:";
  else byId("told").textContent = "There is no answer:";
}

function table(id, rows, words = 1) {
  const made = rows.map((cells) => {
    const row = document.createElement("tr");
    row.append(...cells.map((text, at) => {
      const cell = document.createElement(at ? "td" : "th");
      if (!at) cell.scope = "row";
      if (at >= words) cell.className = "n";
      cell.textContent = text;
      return cell;
    }));
    return row;
  });
  byId(id).tBodies[0].replaceChildren(...made);
  byId(id).parentElement.hidden = !rows.length;
}

/* Show the map as planned, or with the changes; the newest of these each time. */
function shown(changed) {
  byId("as-planned").setAttribute("aria-pressed", String(!changed));
  byId("as-tried").setAttribute("aria-pressed", String(changed));
  const address = changed ? `${root.dataset.tried}?at=${asked}` : root.dataset.planned;
  if (frame.getAttribute("src") !== address) frame.src = address;
  frame.title = changed ? "Map with the changes" : "Map of the plan";
}
if (frame) {
  byId("as-planned").addEventListener("click", () => shown(false));
  byId("as-tried").addEventListener("click", () => shown(true));
  frame.addEventListener("load", () => place.value && frame.contentWindow.postMessage({ choose: place.value }, "*"));
}

show();
byId("lines").replaceChildren(...[...byId("lines").children].map((item, at) => line(item.textContent, at)));
ask();
