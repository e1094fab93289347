/* What the reader may switch: feedstocks, haulage, colours, layers; and the search. */
function choice(kind, group, text, on, change, extra, value) {
  const box = h("input", { type: kind, name: group, value: value || text });
  box.checked = on;
  box.addEventListener("change", () => change(box.checked));
  return h("label", {}, box, extra, name(text));
}
const group = (title, id, ...inside) => h("fieldset", { id }, h("legend", {}, title), h("div", { class: "checks" }, ...inside));

function makeControls(element, pane) {
  const { plan, state } = pane;
  const flag = (text, key) => choice("checkbox", key, text, state[key], (on) => pane.set({ [key]: on }));
  const materials = plan.materials.map((m) => choice("checkbox", "feedstock", m.name, true, (on) => {
    const kept = new Set(pane.state.materials);
    if (on) kept.add(m.code); else kept.delete(m.code);
    pane.set({ materials: kept });
  }, chip(m), m.code));
  const radios = (key, list) => list.map(([value, text]) => choice("radio", key, text, state[key] === value, () => pane.set({ [key]: value }), null, value));
  const onRoads = plan.roads.some((road) => road.loaded);
  const most = h("select", { id: "largest", "aria-label": "Number of flows drawn" }, [20, 40, 80, 160].map((n) => h("option", { value: n, selected: n === state.largest }, `the ${n} largest`)));
  most.addEventListener("change", () => pane.set({ largest: Number(most.value) }));
  const haulage = group("Haulage", "haulage", radios("haulage", [...(onRoads ? [["roads", "Load on roads"]] : []), ["flows", "Direct flows"], ["none", "None"]]), most);
  const colours = group("Sources coloured by", "colour", radios("colour", [["feedstock", "Feedstock"], ["worth", "Value of one more tonne"]]));
  element.append(group("Feedstocks", "feedstocks", materials), haulage, colours,
    group("Show", "show", choice("checkbox", "compost", "Compost", true, (on) => pane.set({ compost: on }), chip(plan.material.get("compost"))), flag("Sources", "sources"), flag("Markets", "markets"), flag("Sites without a yard", "unused"), flag("Villages", "villages"),
      plan.tiles && choice("checkbox", "tiles", "Online map (needs internet)", false, (on) => { pane.set({ tiles: on }); showTiles(pane); })),
    group("Names", "names", flag("Yards", "labels"), flag("Unused sites", "siteNames"), flag("Sources", "sourceNames"), flag("Markets", "marketNames")),
    h("p", { class: "small", id: "unnamed" }));
  return () => {
    most.hidden = pane.state.haulage !== "flows";
    for (const input of element.querySelectorAll("input")) {
      const { name: of, value } = input;
      input.checked = input.type === "radio" ? pane.state[of] === value : of === "feedstock" ? pane.state.materials.has(value) : pane.state[of];
    }
  };
}

/*
 * Search: words in any order, part of them, in any case, with or without accents; by name
 * first, then code, district and feedstock. A list of hits is walked with the arrow keys.
 */
const MOST_HITS = 8;
const BARE = { ø: "o", ł: "l", đ: "d", ð: "d", ß: "ss", æ: "ae", œ: "oe", ı: "i", þ: "th" };
const bare = (text) => (text || "").normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase().replace(/[øłđðßæœıþ]/g, (sign) => BARE[sign]).replace(/[^\p{L}\p{N}]+/gu, " ").trim();

function makeSearch(field, list, pane) {
  const { plan } = pane, feedstock = (site) => (site.kind === "source" ? plan.material.get(site.material).name : "");
  const kind = (site) => (site.kind === "yard" ? STATUS[site.status] : site.kind === "source" ? feedstock(site) : "market");
  const all = [...plan.yards, ...plan.sources, ...plan.markets].map((site) => ({
    site, text: " " + bare(site.name), code: bare(site.code), more: ["", site.name, site.code, site.district, site.area, feedstock(site)].map(bare).join(" "),
  }));
  let hits = [], active = -1;
  const open = (on) => { list.hidden = !on; field.setAttribute("aria-expanded", String(on)); };
  const mark = (to) => {
    active = to;
    [...list.children].forEach((option, i) => option.setAttribute("aria-selected", String(i === active)));
    if (active >= 0 && list.children[active]) field.setAttribute("aria-activedescendant", list.children[active].id);
    else field.removeAttribute("aria-activedescendant");
  };
  const take = (site) => {
    open(false);
    field.value = "";
    if (site.kind === "source" && !pane.state.materials.has(site.material)) pane.set({ materials: new Set([...pane.state.materials, site.material]) });
    if (!pane.map.getBounds().pad(-0.06).contains(site.at)) pane.map.panTo(site.at, { animate: false });
    pane.select(site.id, true);
  };
  const find = () => {
    const typed = field.value.trim(), wanted = bare(typed), words = wanted.split(" ");
    const rank = ({ text, code, more, site }) => {
      if (!wanted) return site.name.includes(typed) ? 3 : 9;
      if (site.name === typed || site.code === typed) return 0;
      if (text.startsWith(" " + wanted) || code === wanted) return 1;
      if (text.includes(" " + wanted)) return 2;
      if (text.includes(wanted) || code.includes(wanted)) return 3;
      return words.every((word) => more.includes(word)) ? 4 : 9;
    };
    const found = typed ? all.map((x) => ({ ...x, rank: rank(x) })).filter((x) => x.rank < 9).sort((a, b) => a.rank - b.rank || a.text.localeCompare(b.text)) : [];
    hits = found.slice(0, MOST_HITS);
    const none = (text) => h("li", { class: "none", role: "option", "aria-disabled": "true", "aria-selected": "false" }, text);
    list.replaceChildren(...hits.map((hit, i) => {
      const option = h("li", { role: "option", id: `hit-${i}`, "aria-selected": "false" }, name(shorten(hit.site.name, 44)), h("small", {}, name(shorten([kind(hit.site), hit.site.area].filter(Boolean).join(", "), 60))));
      option.addEventListener("mousedown", (event) => { event.preventDefault(); take(hit.site); });
      return option;
    }));
    if (found.length > hits.length) list.append(none(`and ${figure(found.length - hits.length, 0)} more: type more of the name`));
    if (typed && !hits.length) list.append(none("No place of this name, code, district or feedstock"));
    open(Boolean(typed));
    mark(hits.length ? 0 : -1);
  };
  field.addEventListener("input", find);
  field.addEventListener("blur", () => open(false));
  field.addEventListener("keydown", (event) => {
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      if (list.hidden) find();
      if (hits.length) mark((active + (event.key === "ArrowDown" ? 1 : hits.length - 1)) % hits.length);
    } else if (event.key === "Enter") {
      event.preventDefault();
      if (list.hidden) find();
      if (hits[active]) take(hits[active].site);
    } else if (event.key === "Escape" && !list.hidden) {
      event.stopPropagation();
      open(false);
    }
  });
}
