/* The first page: cards that are looked at after the page has come, and files dropped in. */
"use strict";

for (const card of document.querySelectorAll("[data-card]")) {
  fetch(card.dataset.card)
    .then((answer) => (answer.ok ? answer.text() : Promise.reject(answer.status)))
    .then((html) => {
      card.replaceChildren(...new DOMParser().parseFromString(html, "text/html").body.childNodes);
      card.removeAttribute("aria-busy");
    })
    .catch(() => {
      const place = card.querySelector(".card-map");
      place.textContent = "could not be looked at";
      card.removeAttribute("aria-busy");
    });
}

const drop = document.getElementById("drop");
if (drop) {
  const input = document.getElementById("file");
  const told = document.getElementById("bringing");

  const bring = async (file) => {
    told.className = "";
    told.textContent = `Bringing in ${file.name} …`;
    try {
      const answer = await fetch(`/bring?file=${encodeURIComponent(file.name)}`, {
        method: "POST", body: file, headers: { "Content-Type": "application/octet-stream" },
      });
      const kind = answer.headers.get("content-type") || "";
      const said = kind.includes("json") ? await answer.json() : {};
      if (answer.ok) location.assign(said.address);
      else {
        told.className = "fault";
        told.textContent = said.fault || "The desk did not take this file: it is too large, or the desk was closed.";
      }
    } catch {
      told.className = "fault";
      told.textContent = "The desk does not answer. Start it again, then drop the file once more.";
    }
    input.value = "";
  };

  input.addEventListener("change", () => input.files[0] && bring(input.files[0]));
  for (const name of ["dragover", "dragleave", "drop"]) {
    window.addEventListener(name, (event) => {
      if (!event.dataTransfer || ![...event.dataTransfer.types].includes("Files")) return;
      event.preventDefault();
      drop.classList.toggle("over-it", name === "dragover");
      if (name === "drop" && event.dataTransfer.files[0]) bring(event.dataTransfer.files[0]);
    });
  }
}
