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
  const colours = group("Sources coloured by", "colour", radios("colour", [["feedstock", "Feedstock"], ["worth", "What a tonne more is worth"]]));
  element.append(group("Feedstocks", "feedstocks", materials), haulage, colours,
    group("Show", "show", choice("checkbox", "compost", "Compost", true, (on) => pane.set({ compost: on }), chip(plan.material.get("compost"))), flag("Sources", "sources"), flag("Markets", "markets"), flag("Sites without a yard", "unused"), flag("Yard names", "labels"), flag("Villages", "villages"),
      plan.tiles && choice("checkbox", "tiles", "Online map (needs internet)", false, (on) => { pane.set({ tiles: on }); showTiles(pane); })));
  return () => {
    most.hidden = pane.state.haulage !== "flows";
    for (const input of element.querySelectorAll("input")) {
      const { name: of, value } = input;
      input.checked = input.type === "radio" ? pane.state[of] === value : of === "feedstock" ? pane.state.materials.has(value) : pane.state[of];
    }
  };
}

/* Search by name or code: a list of hits below the field, walked with the arrow keys. */
const KIND_WORDS = { yard: "site", source: "source", market: "market" };
function makeSearch(field, list, pane) {
  const all = [...pane.plan.yards, ...pane.plan.sources, ...pane.plan.markets].map((site) => ({ site, text: site.name.toLowerCase(), code: site.code.toLowerCase() }));
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
    const wanted = field.value.trim().toLowerCase();
    const rank = (x) => (x.text.startsWith(wanted) || x.code === wanted ? 0 : x.text.includes(" " + wanted) ? 1 : x.text.includes(wanted) || x.code.includes(wanted) ? 2 : 9);
    hits = wanted ? all.map((x) => ({ ...x, rank: rank(x) })).filter((x) => x.rank < 9).sort((a, b) => a.rank - b.rank || a.text.localeCompare(b.text)).slice(0, 8) : [];
    const words = ({ site }) => (site.kind === "yard" ? STATUS[site.status] : site.kind === "source" ? pane.plan.material.get(site.material).name : "market");
    list.replaceChildren(...hits.map((hit, i) => {
      const option = h("li", { role: "option", id: `hit-${i}`, "aria-selected": "false" }, name(shorten(hit.site.name, 44)), h("small", {}, words(hit)));
      option.addEventListener("mousedown", (event) => { event.preventDefault(); take(hit.site); });
      return option;
    }));
    if (wanted && !hits.length) list.append(h("li", { class: "none", role: "option", "aria-disabled": "true", "aria-selected": "false" }, "No place of this name"));
    open(Boolean(wanted));
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
