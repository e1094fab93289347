/*
 * openEditor(view, how) lets the active cell be written in. `how` is "type" (what is typed
 * replaces the text, arrows move on), "edit" (the text is kept, arrows move the caret) or
 * "pick" (the list is shown).
 */
const MOST_PICKS = 200;

function picksFor(view, column) {
  if (column.choices.length) return column.choices.map((word) => [word, ""]);
  return (column.picks && view.model.picks[column.picks]) || [];
}

function openEditor(view, how) {
  if (refuses(view) || view.editor || view.sel.ar < 0) return;
  const { ar: r, ac: c } = view.sel, column = view.column(c), picks = picksFor(view, column);
  view.select(r, c);
  const label = `${column.heading}${column.unit ? ` [${column.unit}]` : ""}, row ${view.base(r) + view.model.firstRow}`;
  const input = h(picks.length ? "input" : "textarea", { class: "editor", "aria-label": label, autocomplete: "off", spellcheck: "false", rows: picks.length ? null : 1, "data-how": how });
  const list = h("ul", { class: "picks", id: "picks", role: "listbox", "aria-label": column.heading, hidden: "" });
  input.value = how === "type" ? "" : view.textAt(r, c);
  const editor = view.editor = { input, list, how, r, c, picks, many: column.kind === "list", chosen: -1, found: [] };
  if (picks.length) for (const [key, value] of Object.entries({ role: "combobox", "aria-expanded": "false", "aria-controls": "picks", "aria-autocomplete": "list" })) input.setAttribute(key, value);
  editor.place = () => placeEditor(view, editor);
  editor.close = (keep, dr = 0, dc = 0) => closeEditor(view, editor, keep, dr, dc);
  view.wrap.append(input, list);
  editor.place();
  input.focus({ preventScroll: true });
  if (how !== "type") input.setSelectionRange(input.value.length, input.value.length);
  input.addEventListener("keydown", (event) => editorKey(view, editor, event));
  input.addEventListener("input", () => { grow(editor); if (picks.length) showPicks(editor, true); });
  input.addEventListener("blur", () => setTimeout(() => view.editor === editor && editor.close(true), 0));
  list.addEventListener("pointerdown", (event) => {
    const item = event.target.closest("li");
    event.preventDefault();
    if (!item) return;
    take(editor, Number(item.dataset.at));
    if (!editor.many) editor.close(true);
  });
  if (how === "pick") showPicks(editor, false);
  grow(editor);
}

function placeEditor(view, { input, list, r, c }) {
  const box = view.sheet.getBoundingClientRect(), high = view.head.offsetHeight;
  const left = (c < view.frozen ? NUMBER_WIDTH : view.lefts[c] - view.sheet.scrollLeft);
  const top = high + r * ROW_HEIGHT - view.sheet.scrollTop;
  Object.assign(input.style, { left: `${left}px`, top: `${top}px`, minWidth: `${view.widths[c]}px`, maxWidth: `${Math.max(view.widths[c], box.width - left - 16)}px` });
  const below = top + ROW_HEIGHT + 200 < box.height || top < 220;
  Object.assign(list.style, { left: `${Math.min(left, box.width - 190)}px`, top: below ? `${top + ROW_HEIGHT}px` : "", bottom: below ? "" : `${box.height - top}px` });
}
function grow({ input }) {
  const lines = input.value.split("\n"), widest = Math.max(...lines.map((text) => textWidth(shorten(text, 90), `13px ${getComputedStyle(input).fontFamily}`)));
  input.style.width = `${widest + 28}px`;
  if (input.tagName === "TEXTAREA") input.style.height = `${Math.min(6, lines.length) * 20 + 8}px`;
}

const lastWord = (text) => text.split(/[\s,;]+/).pop();
function showPicks(editor, typed) {
  const { input, list, picks, many } = editor;
  const word = (many ? lastWord(input.value) : input.value).trim().toLowerCase();
  const fits = picks.filter(([code, label]) => !typed || !word || code.toLowerCase().includes(word) || label.toLowerCase().includes(word));
  const rank = ([code, label]) => (code.toLowerCase().startsWith(word) ? 0 : label.toLowerCase().startsWith(word) ? 1 : 2);
  editor.found = (typed && word ? [...fits].sort((a, b) => rank(a) - rank(b)) : fits).slice(0, MOST_PICKS);
  const exact = editor.found.findIndex(([code]) => code.toLowerCase() === word);
  editor.chosen = exact >= 0 ? exact : typed && word && editor.found.length ? 0 : -1;
  list.replaceChildren(...editor.found.map(([code, label], at) => h("li", { role: "option", id: `pick-${at}`, "data-at": at, "aria-selected": "false" }, h("b", {}, name(code)), label && h("small", {}, name(label)))));
  list.hidden = !editor.found.length;
  input.setAttribute("aria-expanded", String(!list.hidden));
  choose(editor, editor.chosen);
}
function choose(editor, at) {
  editor.chosen = at;
  [...editor.list.children].forEach((item, i) => item.setAttribute("aria-selected", String(i === at)));
  const item = editor.list.children[at];
  if (item) { editor.input.setAttribute("aria-activedescendant", item.id); item.scrollIntoView({ block: "nearest" }); } else editor.input.removeAttribute("aria-activedescendant");
}
function take(editor, at) {
  const [code] = editor.found[at];
  const { input } = editor;
  input.value = editor.many ? input.value.slice(0, input.value.length - lastWord(input.value).length) + code : code;
  editor.list.hidden = true;
  editor.chosen = -1;
  grow(editor);
}

function editorKey(view, editor, event) {
  const { input, list } = editor, open = !list.hidden, { key } = event;
  const stop = () => { event.preventDefault(); event.stopPropagation(); };
  if (event.isComposing) return;
  if (key === "Escape") {
    stop();
    if (open && editor.how !== "pick") { list.hidden = true; editor.chosen = -1; } else editor.close(false);
  } else if ((key === "ArrowDown" || key === "ArrowUp") && (open || (event.altKey && editor.picks.length))) {
    stop();
    if (!open) showPicks(editor, false);
    else choose(editor, Math.max(0, Math.min(editor.found.length - 1, editor.chosen + (key === "ArrowDown" ? 1 : -1))));
  } else if (key === "Enter" && event.altKey && input.tagName === "TEXTAREA") {
    stop();
    input.setRangeText("\n", input.selectionStart, input.selectionEnd, "end");
    grow(editor);
  } else if (key === "Enter" || key === "Tab") {
    stop();
    if (open && editor.chosen >= 0) take(editor, editor.chosen);
    const back = event.shiftKey ? -1 : 1;
    if (key === "Tab") editor.close(true, 0, back); else editor.close(true, back, 0);
  } else if (editor.how === "type" && !open && key.startsWith("Arrow") && !event.shiftKey) {
    stop();
    editor.close(true, { ArrowUp: -1, ArrowDown: 1 }[key] || 0, { ArrowLeft: -1, ArrowRight: 1 }[key] || 0);
  } else event.stopPropagation();
}

function closeEditor(view, editor, keep, dr, dc) {
  if (view.editor !== editor) return;
  view.editor = null;
  const held = document.activeElement === editor.input || document.activeElement === document.body;
  const text = editor.input.value.trim();
  editor.input.remove();
  editor.list.remove();
  if (keep && text !== view.textAt(editor.r, editor.c)) putBlock(view, editor.r, editor.c, [[text]]);
  if (held || dr || dc) view.sheet.focus({ preventScroll: true });
  if (dc) tabOn(view, dc);
  else if (dr) enterOn(view, dr);
  else paint(view, true);
}
