/* Help: the manual beside the page, at the part about it. The page stays as it is; Escape
   or F1 closes the manual and leads back. Without a script it opens in another tab. */
(function () {
"use strict";
const link = document.getElementById("help");
let panel = null, before = null;

function made() {
  const part = (name, more) => Object.assign(document.createElement(name), more);
  const frame = part("iframe", { title: "Manual" });
  const apart = part("a", { href: link.href, target: "_blank", textContent: "In its own window" });
  const close = part("button", { type: "button", className: "quiet-button", textContent: "Close" });
  const head = part("div", { className: "help-head" });
  head.append(part("strong", { textContent: "Help" }), apart, close);
  panel = part("dialog", { id: "help-panel" });
  panel.setAttribute("aria-label", "Help");
  const wait = part("p", { className: "help-wait", textContent: "Opening the manual …" });
  wait.setAttribute("role", "status");
  panel.append(head, wait, frame);
  apart.addEventListener("click", shut);
  close.addEventListener("click", shut);
  panel.addEventListener("keydown", (event) => { if (event.key === "Escape") shut(); });
  frame.addEventListener("load", () => {
    wait.hidden = Boolean(frame.dataset.at);
    frame.contentDocument.addEventListener("keydown", fromWithin, true);
  });
  document.querySelector(".bar").after(panel);
}

/* Escape in the manual empties its search first, then closes it. */
function fromWithin(event) {
  const words = event.currentTarget.getElementById("words");
  const leaves = event.key === "Escape" && !(words && words.value);
  if (!leaves && event.key !== "F1") return;
  event.preventDefault();
  shut();
}

function open(address) {
  before = document.activeElement;
  if (!panel) made();
  const frame = panel.querySelector("iframe");
  if (frame.dataset.at !== address) {
    frame.dataset.at = address;
    frame.src = address;
    panel.querySelector("a").href = address;
  }
  panel.style.top = `${Math.max(document.querySelector(".bar").getBoundingClientRect().bottom, 0)}px`;
  panel.show();
  panel.querySelector("button").focus();
  link.setAttribute("aria-expanded", "true");
}

function shut() {
  panel.close();
  link.setAttribute("aria-expanded", "false");
  (before && before.isConnected && before !== document.body ? before : link).focus();
}

function turn(event, address) {
  event.preventDefault();
  if (panel && panel.open) shut();
  else open(address);
}

link.setAttribute("role", "button");
link.setAttribute("aria-expanded", "false");
for (const each of document.querySelectorAll("a[target=loamhaul-help]")) {
  each.addEventListener("click", (event) => turn(event, each.href));
}
link.addEventListener("keydown", (event) => { if (event.key === " ") turn(event, link.href); });
document.addEventListener("keydown", (event) => { if (event.key === "F1") turn(event, link.href); });
})();
