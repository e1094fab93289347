/* The settings as a form: each value is checked as it is typed and kept as a draft. */
"use strict";

const byId = (id) => document.getElementById(id);
const api = byId("settings").dataset.api;
const rows = new Map([...document.querySelectorAll(".setting")].map((row) => [row.dataset.setting, row]));
const field = (row) => row.querySelector("input, select");
const at = { state: null, check: null, queue: Promise.resolve(), waiting: 0, told: null, tried: 0 };
const DEFAULT = "default, not local";

/* ---- what is shown ---- */
function show(state) {
  at.state = state;
  byId("whole").hidden = !state.broken;
  byId("settings").hidden = Boolean(state.broken);
  if (state.broken) {
    byId("broken").textContent = state.broken;
    const text = byId("text"); // what is being mended stays until it is sent
    if (text.dataset.kept === undefined || text.value === text.dataset.kept) text.value = state.whole;
    text.dataset.kept = text.value === state.whole ? text.value : "";
  }
  for (const [setting, row] of rows) {
    const input = field(row), text = state.texts[setting] ?? "";
    if (input.dataset.kept === undefined || input !== document.activeElement || input.value === input.dataset.kept) setValue(input, text);
    input.dataset.kept = text;
    input.disabled = Boolean(state.viewOnly);
    row.classList.toggle("changed", state.changed.includes(setting));
    showDefault(row);
  }
  byId("unknown").hidden = !state.unknown.length;
  byId("unknown-list").replaceChildren(...state.unknown.map((setting) => h("li", {}, h("bdi", {}, `${setting} = ${state.texts[setting]}`), " ",
    h("button", { type: "button", class: "quiet-button", "aria-label": `Take out: ${setting}`, onclick: () => keep({ set: { [setting]: "" } }) }, "Take out"))));
  showNotices(state);
  showKept();
}
/* A word that is none of the choices is shown as one, so that nothing is lost unseen. */
function setValue(input, text) {
  if (input.tagName === "SELECT") {
    for (const option of input.querySelectorAll("[data-strange]")) option.remove();
    if (text && ![...input.options].some((option) => option.value === text)) input.append(h("option", { value: text, "data-strange": "" }, text));
  }
  input.value = text;
}
function showDefault(row) {
  const input = field(row), stands = (at.check ? at.check.defaults[row.dataset.setting] : "") || "";
  const blank = input.value === "", used = blank && stands !== "";
  row.classList.toggle("default", used);
  row.querySelector(".mark").textContent = used ? DEFAULT : "";
  if (input.tagName === "SELECT") input.options[0].textContent = stands || "none";
  else input.placeholder = stands || (input.classList.contains("number") ? "none" : "");
}
function showCheck(check) {
  at.check = check;
  const found = new Map();
  for (const fault of check.faults) found.set(fault.setting, [...(found.get(fault.setting) || []), fault]);
  for (const [setting, row] of rows) {
    showDefault(row);
    if (field(row) !== document.activeElement || field(row).value === field(row).dataset.kept) showFaults(row, found.get(setting) || []);
  }
  for (const badge of document.querySelectorAll(".badge")) {
    const count = check.faults.filter((fault) => rows.get(fault.setting)?.dataset.group === badge.dataset.group).length;
    badge.hidden = !count;
    badge.textContent = count;
    badge.title = count === 1 ? "1 fault" : `${count} faults`;
  }
  const strange = check.faults.filter((fault) => !rows.has(fault.setting)), count = check.faults.length;
  byId("faults").hidden = Boolean(at.state.broken) || (!count && !check.others);
  const link = ([setting]) => rows.has(setting) && h("a", { href: `#f-${setting}` }, rows.get(setting).querySelector("label").textContent);
  const named = [...found].map(link).filter(Boolean).flatMap((one, n) => (n ? [", ", one] : [one]));
  byId("faults").replaceChildren(count ? h("strong", {}, `${count} ${count === 1 ? "fault" : "faults"} in the settings: to be mended before a plan. `) : "", ...named,
    ...strange.map((fault) => h("p", {}, h("bdi", {}, `${fault.setting} ${fault.said}. ${fault.remedy}.`))),
    check.others ? h("p", {}, `${check.others} ${check.others === 1 ? "fault" : "faults"} in the tables. `, h("a", { href: api.replace("/api/settings", "/district") }, "See them there")) : "");
}
function showFaults(row, faults) {
  row.classList.toggle("faulty", faults.length > 0);
  if (faults.length) field(row).setAttribute("aria-invalid", "true");
  else field(row).removeAttribute("aria-invalid");
  const said = faults.map((fault) => `${fault.said}. ${fault.remedy}.`).join(" ");
  const place = row.querySelector(".wrong");
  if (place.textContent !== said) place.textContent = said;
}
function showKept(told, bad) {
  const { state } = at, outcome = !told && at.told && Date.now() < at.told.until ? at.told : {};
  const usual = at.waiting ? "Keeping your edits …" : state.edited ? "Edits are kept as a draft" : "Everything is saved";
  byId("kept").textContent = told || outcome.told || usual;
  byId("kept").classList.toggle("wrong", Boolean(bad || outcome.bad));
  byId("undo").disabled = !state.undo;
  byId("redo").disabled = !state.redo;
  byId("save").disabled = !state.edited && !at.waiting && !unkept();
}
function showNotices(state) {
  const notes = [];
  if (state.viewOnly) notes.push(h("div", { class: "notice" }, h("p", {}, h("bdi", {}, state.viewOnly))));
  if (state.overtaken) {
    notes.push(h("div", { class: "notice", role: "alert" }, h("p", {}, "scenario.toml was changed by another program while you edited it here. Nothing is overwritten until you choose."),
      h("span", { class: "buttons" }, ...[["See both", seeBoth], ["Keep mine", () => choose("mine")], ["Take theirs", () => choose("theirs")]].map(([text, work]) => h("button", { type: "button", class: "quiet-button", onclick: work }, text)))));
  }
  if (state.overtaken !== at.overtaken || state.viewOnly !== at.viewOnly) byId("notices").replaceChildren(...notes);
  Object.assign(at, { overtaken: state.overtaken, viewOnly: state.viewOnly });
}

/* ---- edits: one after another, each kept before the next is sent ---- */
const unkept = () => [...rows.values()].some((row) => field(row).value !== field(row).dataset.kept);
function say(told, bad) {
  at.told = { told, bad, until: Date.now() + 9000 };
  showKept();
}
function queued(work) {
  at.waiting += 1;
  showKept();
  at.queue = at.queue.then(work).catch((fault) => say(fault.message, true)).finally(() => { at.waiting -= 1; showKept(); });
  return at.queue;
}
function keep(edit) {
  const batch = { name: crypto.randomUUID(), ...edit };
  at.told = null;
  return queued(async () => {
    for (;;) {
      try {
        show(await askDesk(`${api}/edits`, { version: at.state.version, ...batch }));
        break;
      } catch (fault) {
        if (fault.status === 409) { await anew(); throw new Error("The settings were changed in another window. They are shown anew, without your last edit."); }
        if (FINAL.includes(fault.status)) { await anew(); throw new Error(`Not done: ${fault.message}`); }
        showKept([401, 403].includes(fault.status) ? "Not kept yet: open the desk again from its icon, and leave this page open." : "Not kept yet: the desk does not answer. Trying again …", true);
        await new Promise((done) => setTimeout(done, 1500));
      }
    }
    checkSoon();
  });
}
async function anew() {
  for (const row of rows.values()) field(row).value = field(row).dataset.kept;
  show(await askDesk(`${api}/state`));
}
const checkSoon = settled(60, async () => {
  const check = await askDesk(`${api}/check`).catch(() => null);
  if (check && check.version === at.state.version) showCheck(check);
});
const turn = (which) => at.state[which] && keep({ turn: which });
function commit(row) {
  const input = field(row);
  if (input.value === input.dataset.kept) return;
  input.dataset.kept = input.value; // sent once, though Enter and leaving both ask for it
  keep({ set: { [row.dataset.setting]: input.value } });
}
async function save() {
  if (document.activeElement.closest(".setting")) commit(document.activeElement.closest(".setting"));
  await at.queue;
  await queued(async () => {
    try {
      const state = await askDesk(`${api}/save`, {});
      show(state);
      say(state.saved ? "Saved: scenario.toml" : "Everything is saved");
    } finally { checkSoon(); }
  });
}

/* ---- another program has changed the file ---- */
async function look() {
  if (at.waiting || unkept()) return;
  let state;
  try { state = await askDesk(`${api}/state`); } catch (fault) { showKept("The desk does not answer. Is it still running?", true); return; }
  if (at.waiting || unkept()) return;
  const other = state.version !== at.state.version, saved = !at.state.edited;
  show(state);
  if (other) {
    if (saved) say("scenario.toml was read anew: another program or window has changed it.");
    checkSoon();
  }
}
async function choose(which) {
  await queued(async () => show(await askDesk(`${api}/choice`, { keep: which })));
  byId("both").close();
  checkSoon();
}
async function seeBoth() {
  const { rows: list } = await askDesk(`${api}/both`), dialog = byId("both");
  const label = (setting) => (rows.has(setting) ? rows.get(setting).querySelector("label").textContent : setting);
  dialog.replaceChildren(h("h2", { id: "both-title" }, "scenario.toml: both versions"),
    h("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": "Settings that differ" }, h("table", {}, h("thead", {}, h("tr", {}, ...["Setting", "Before", "Mine", "Theirs"].map((text) => h("th", { scope: "col" }, text)))),
      h("tbody", {}, ...list.map((one) => h("tr", {}, h("th", { scope: "row" }, h("bdi", {}, label(one.setting))), ...["was", "mine", "theirs"].map((key) => h("td", {}, h("bdi", {}, one[key])))))))),
    h("div", { class: "buttons" }, ...[["Keep mine", () => choose("mine")], ["Take theirs", () => choose("theirs")], ["Decide later", () => dialog.close()]].map(([text, work]) => h("button", { type: "button", onclick: work }, text))));
  dialog.showModal();
}

/* ---- keys and buttons ---- */
for (const row of rows.values()) {
  const input = field(row);
  const tryOut = settled(250, async () => {
    const typed = input.value;
    if (typed === input.dataset.kept) { checkSoon(); return; }
    const told = await askDesk(`${api}/attempt`, { setting: row.dataset.setting, typed }).catch(() => null);
    if (told && input.value === typed && typed !== input.dataset.kept) showFaults(row, told.faults);
  });
  input.addEventListener("input", () => { showDefault(row); showKept(); if (input.tagName !== "SELECT") tryOut(); });
  input.addEventListener("change", () => commit(row));
  input.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && input.value !== input.dataset.kept) { setValue(input, input.dataset.kept); showDefault(row); checkSoon(); showKept(); event.preventDefault(); }
    if (event.key === "Enter" && input.tagName === "INPUT") { event.preventDefault(); commit(row); next(row); }
  });
}
function next(row) {
  const shown = [...rows.values()].filter((one) => !one.hidden), after = shown[shown.indexOf(row) + 1];
  if (after) field(after).focus();
}
byId("undo").addEventListener("click", () => turn("undo"));
byId("redo").addEventListener("click", () => turn("redo"));
byId("save").addEventListener("click", save);
byId("find").addEventListener("input", () => {
  const words = byId("find").value.toLowerCase().split(/\s+/).filter(Boolean);
  for (const [setting, row] of rows) {
    const text = `${setting} ${row.closest(".group").querySelector("h2").textContent} ${row.textContent}`.toLowerCase();
    row.hidden = !words.every((word) => text.includes(word));
  }
  for (const group of document.querySelectorAll(".group:not(#unknown)")) group.hidden = !group.querySelector(".setting:not([hidden])");
});
byId("whole").addEventListener("submit", (event) => { event.preventDefault(); keep({ text: byId("text").value }); });
addEventListener("keydown", (event) => {
  const control = event.ctrlKey || event.metaKey, key = event.key.toLowerCase();
  const typing = document.activeElement.closest(".setting"), held = typing && field(typing).value !== field(typing).dataset.kept;
  const elsewhere = ["find", "text"].includes(document.activeElement.id);
  if (control && key === "s") { event.preventDefault(); save(); }
  else if (control && key === "f" && !event.shiftKey) { event.preventDefault(); byId("find").focus(); byId("find").select(); }
  else if (control && !held && !elsewhere && key === "z") { event.preventDefault(); turn(event.shiftKey ? "redo" : "undo"); }
  else if (control && !held && !elsewhere && key === "y") { event.preventDefault(); turn("redo"); }
});
addEventListener("beforeunload", (event) => { if (at.waiting || unkept()) event.preventDefault(); });
addEventListener("focus", look);
setInterval(() => document.hidden || look(), 5000);

const first = byId("first").dataset;
at.check = JSON.parse(first.check);
show(JSON.parse(first.state));
showCheck(at.check);
if (location.hash.startsWith("#f-")) byId(location.hash.slice(1))?.focus();
addEventListener("hashchange", () => byId(location.hash.slice(1))?.focus());
