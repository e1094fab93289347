/* The month: follows what is being made, and shows it when it is there. */
"use strict";

const errand = document.getElementById("errand");
const EVERY = 600;

async function follow() {
  try {
    const answer = await fetch(errand.dataset.api);
    if (answer.ok) {
      const told = await answer.json();
      const news = told.answer && !("answer" in errand.dataset);
      if (news || !["waiting", "running"].includes(told.state)) {
        location.reload();
        return;
      }
      if (told.words) document.getElementById("errand-words").textContent = told.words;
      if (told.count) document.getElementById("errand-count").textContent = told.count;
    }
  } catch {
    document.getElementById("errand-count").textContent = "The desk does not answer. Start it again; what is being made goes on.";
  }
  setTimeout(follow, EVERY);
}

if (errand) follow();

for (const one of document.querySelectorAll("#day-form select")) one.addEventListener("change", () => one.form.requestSubmit());
