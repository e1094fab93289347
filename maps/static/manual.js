/* The manual's search: sections without all the words are put away. Without a script
   the page is whole and only the search is missing. */
(function () {
"use strict";
const byId = (id) => document.getElementById(id);
const input = byId("words"), contents = document.querySelector("nav details");
const sections = [...document.querySelectorAll("main section")].map((element) => {
  const article = element.closest("article");
  const title = article.querySelector("h2").textContent;
  return {
    element, article,
    text: plain(element.textContent),
    around: plain(title + " " + element.textContent),
    rows: [...element.querySelectorAll("tbody tr")].map((row) => ({ row, text: plain(row.textContent) })),
  };
});
const links = [...document.querySelectorAll("nav li")].map((item) => ({ item, target: byId(item.querySelector("a").hash.slice(1)) }));
let hits = [], at = -1;

/* Small letters, no accents, one blank for many. */
function plain(text) {
  return text.normalize("NFKD").replace(/[\u0300-\u036f]/g, "").toLowerCase().replace(/\s+/g, " ");
}

function wordsOf(text) {
  return plain(text).trim().split(" ").filter(Boolean);
}

/* Show what holds all words, at least one of them below the page's own title. */
function search() {
  const words = wordsOf(input.value), all = words.length === 0;
  const has = (text) => words.every((word) => text.includes(word));
  hits = [];
  for (const each of sections) {
    const shown = all || (has(each.around) && words.some((word) => each.text.includes(word)));
    each.element.hidden = !shown;
    if (shown && !all) hits.push(each);
    const fitting = shown && !all ? each.rows.filter((one) => has(one.text)) : [];
    for (const one of each.rows) one.row.hidden = fitting.length > 0 && !fitting.includes(one);
  }
  for (const article of document.querySelectorAll("main article")) {
    article.hidden = !all && article.querySelector("section:not([hidden])") === null;
  }
  for (const { item, target } of links) {
    const section = target.closest("section");
    item.hidden = (section || target.closest("article")).hidden;
  }
  at = -1;
  byId("nothing").hidden = all || hits.length > 0;
  byId("found").textContent = all ? "" : hits.length === 1 ? "1 section" : hits.length + " sections";
  byId("next").disabled = hits.length === 0;
  mark(words);
}

/* Colour the words found, where the browser can do so without changing the page. */
function mark(words) {
  if (!window.Highlight || !CSS.highlights) return;
  const ranges = [];
  for (const { element } of words.length ? hits : []) {
    const walk = document.createTreeWalker(element, NodeFilter.SHOW_TEXT);
    for (let node = walk.nextNode(); node; node = walk.nextNode()) {
      const text = node.data.toLowerCase();
      if (text.length !== node.data.length) continue;
      for (const word of words) {
        for (let from = text.indexOf(word); from >= 0; from = text.indexOf(word, from + word.length)) {
          const range = new Range();
          range.setStart(node, from);
          range.setEnd(node, from + word.length);
          ranges.push(range);
        }
      }
    }
  }
  CSS.highlights.set("found", new Highlight(...ranges));
}

/* Go to the next section found, from the last to the first again. */
function next() {
  if (!hits.length) return;
  at = (at + 1) % hits.length;
  hits[at].element.scrollIntoView({ block: "start" });
  hits[at].element.focus({ preventScroll: true });
  byId("found").textContent = "section " + (at + 1) + " of " + hits.length;
}

input.addEventListener("input", search);
byId("search").addEventListener("submit", (event) => { event.preventDefault(); next(); });
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key === "/" && document.activeElement !== input) {
    event.preventDefault();
    input.focus();
    input.select();
  } else if (event.key === "Escape" && input.value) {
    input.value = "";
    search();
    input.focus();
  }
});

/* A link to a section that the search has put away brings all back. */
document.addEventListener("click", (event) => {
  const link = event.target.closest('a[href^="#"]');
  const target = link && byId(link.hash.slice(1));
  if (!target) return;
  if (target.closest("[hidden]")) {
    input.value = "";
    search();
  }
  if (link.hash === "#contents") contents.open = true;
  else if (narrow.matches && link.closest("nav")) contents.open = false;
});

const narrow = window.matchMedia("(max-width: 860px)");
const printing = window.matchMedia("print");
const fold = () => { contents.open = printing.matches || !narrow.matches; };
narrow.addEventListener("change", fold);
window.addEventListener("beforeprint", () => { contents.open = true; });
window.addEventListener("afterprint", fold);
fold();
byId("search").hidden = false;
byId("next").disabled = true;
})();
