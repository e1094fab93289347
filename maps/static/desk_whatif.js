/* What if: the form of a change as soon as it is chosen, and how a study under way stands. */
"use strict";

const which = document.getElementById("which");
if (which) {
  const select = which.querySelector("select");
  let keys = false; // arrow keys walk through the list: then the button shows the form
  select.addEventListener("keydown", () => { keys = true; });
  select.addEventListener("pointerdown", () => { keys = false; });
  select.addEventListener("change", () => { if (!keys && select.value) which.submit(); });
}

const follow = document.getElementById("follow-study");
const byId = (id) => document.getElementById(id);
const PHASES = {
  "first yards": "looking for good yards",
  "first plan": "making a first plan with them",
  "all years": "choosing which yard works in which year",
  "proof": "improving the plan and proving how good it is",
  "small loads": "leaving out loads too small to drive",
};

function upper(text) {
  return text[0].toUpperCase() + text.slice(1);
}

function take(event) {
  if (event.kind === "phase" && event.words) byId("phase").textContent = upper(event.words);
  if (event.kind === "step") {
    byId("steps").max = Math.max(event.whole, 1);
    byId("steps").value = event.done;
    byId("phase").textContent = `${event.words}: ${event.done} of ${event.whole} done`;
    byId("left").textContent = "";
  }
  if (event.kind === "progress") {
    const gap = event.gap === null ? "" : `proven gap ${(event.gap * 100).toFixed(2)} %`;
    const parts = [event.title, PHASES[event.phase] || event.phase, gap, `${Math.round(event.seconds)} s`, event.left];
    byId("left").textContent = parts.filter(Boolean).join(" · ");
  }
  if (event.kind === "state") {
    if (["done", "failed", "interrupted"].includes(event.state)) location.reload();
    else if (event.state !== "waiting") {
      byId("stop").hidden = false;
      byId("drop").textContent = "Give up";
    }
  }
}

function listen() {
  const source = new EventSource(follow.dataset.events);
  source.onmessage = (message) => take(JSON.parse(message.data));
  source.onerror = () => {
    if (source.readyState !== EventSource.CLOSED) return;
    byId("left").textContent = "The desk does not answer; this page tries again.";
    setTimeout(listen, 3000);
  };
}
if (follow) listen();
