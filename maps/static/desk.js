/* The first page: cards that are looked at after the page has come, and files dropped in. */
"use strict";

for (const card of document.querySelectorAll("[data-card]")) {
  fetch(card.dataset.card)
    .then((answer) => (answer.ok ? answer.text() : Promise.reject(answer.status)))
    .then((html) => {
      const made = new DOMParser().parseFromString(html, "text/html");
      card.replaceChildren(...made.body.childNodes);
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

  const send = async (file, more) => {
    const into = drop.dataset.into ? `&into=${encodeURIComponent(drop.dataset.into)}` : "";
    const answer = await fetch(`/bring?file=${encodeURIComponent(file.name)}${into}${more}`, {
      method: "POST", body: file, headers: { "Content-Type": "application/octet-stream" },
    });
    const kind = answer.headers.get("content-type") || "";
    const said = kind.includes("json") ? await answer.json() : {};
    if (answer.ok) return said;
    throw new Error(said.fault || "The desk did not take this file: it is too large, or the desk was closed.");
  };

  const bring = async (files) => {
    told.className = "";
    try {
      let said = {};
      for (const file of files) {
        told.textContent = `Bringing in ${file.name} …`;
        said = await send(file, files.length > 1 ? `&with=${said.drop || "new"}` : "");
      }
      told.textContent = files.length > 1 ? `Reading ${files.length} files …` : `Reading ${files[0].name} …`;
      location.assign(said.address);
    } catch (fault) {
      told.className = "fault";
      told.textContent = fault instanceof TypeError
        ? "The desk does not answer. Start it again, then drop the file once more." : fault.message;
    }
    input.value = "";
  };

  const chosen = () => input.files.length && bring([...input.files]);
  input.addEventListener("change", chosen);
  chosen(); // a file chosen before this script ran
  for (const name of ["dragover", "dragleave", "drop"]) {
    window.addEventListener(name, (event) => {
      if (!event.dataTransfer || ![...event.dataTransfer.types].includes("Files")) return;
      event.preventDefault();
      drop.classList.toggle("over-it", name === "dragover");
      if (name === "drop" && event.dataTransfer.files.length) bring([...event.dataTransfer.files]);
    });
  }
}
