/* The data block as plain objects: mappack.py writes it small, this reads it. */
const DIGITS = new Map([...Array(95).keys()].map((i) => String.fromCharCode(32 + i)).filter((c) => !"\"\\<>&".includes(c)).map((c, i) => [c.charCodeAt(0), i]));
const HALF = 45;

function numbers(text) {
  const found = [];
  let value = 0, weight = 1;
  for (let i = 0; i < text.length; i++) {
    const digit = DIGITS.get(text.charCodeAt(i));
    if (digit < HALF) {
      found.push(value + digit * weight);
      value = 0;
      weight = 1;
    } else {
      value += (digit - HALF) * weight;
      weight *= HALF;
    }
  }
  return found;
}
const bothWays = (value) => (value % 2 ? -(value + 1) / 2 : value / 2);
/* A list by period: 0 is "no value", no text at all a list of zeros. */
const series = (text, parts, count, fold = (value) => value) => (text ? numbers(text).map((value) => (value ? fold(value - 1) / parts : null)) : Array(count).fill(0));
function line(text) {
  const steps = numbers(text), points = [];
  for (let i = 0, x = 0, y = 0; i < steps.length; i += 2) {
    x += bothWays(steps[i]);
    y += bothWays(steps[i + 1]);
    points.push([y / 1e5, x / 1e5]);
  }
  return points;
}

const TONNES = new Set(["charge", "water", "turning", "made", "leftover", "supply", "uncollected", "demand"]);
const PARTS = { cn: 10, usable: 10, moisture: 10, pad: 1000, worth: 100 };
const TEXTS = new Set(["district", "status", "material", "reckoned", "from", "today", "crop", "size"]);

/* Read the block; every site, lane and road gets an id such as "yard:y1". */
function readPlan(block) {
  const { texts } = block, plan = { ...block, place: new Map() }, count = block.periods.length;
  const cell = (column, value) => {
    if (value === null || value === undefined) return undefined;
    if (column === "at") return line(value)[0];
    if (TEXTS.has(column)) return texts[value];
    if (column === "money") return value.map(([text, amount]) => [texts[text], amount]);
    if (TONNES.has(column)) return series(value, block.parts, count);
    if (PARTS[column]) return series(value, PARTS[column], count, column === "worth" ? bothWays : undefined);
    return value;
  };
  for (const [table, columns] of Object.entries(block.columns)) {
    const kind = table.slice(0, -1);
    plan[table] = block[table].map((row) => {
      const site = { kind };
      columns.forEach((column, i) => {
        const value = cell(column, row[i]);
        if (value !== undefined) site[column] = value;
      });
      site.id = `${kind}:${site.code}`;
      site.area = block.districts[site.district] || "";
      plan.place.set(site.id, site);
      return site;
    });
  }
  plan.materials = block.materials.map((m, i) => ({ ...m, shape: SHAPE_ORDER[i % SHAPE_ORDER.length] }));
  plan.material = new Map(plan.materials.map((m) => [m.code, m]));
  plan.material.set("compost", { ...block.compost, shape: "leaf" });
  plan.lanes = readLanes(block, plan);
  plan.roads = block.roads.map((road) => readRoad(road, texts, block.parts / 10, count));
  plan.roads.concat(plan.lanes).forEach((item) => plan.place.set(item.id, item));
  plan.land = block.land.map((land) => ({ ...land, kind: texts[land.kind], parts: land.parts.map(line) }));
  plan.open = plan.yards.filter((yard) => ["new", "enlarged", "existing"].includes(yard.status));
  gather(plan);
  return plan;
}

function readLanes({ lanes, materials, periods, texts, parts }, plan) {
  const columns = Object.fromEntries(["from", "to", "material", "km", "money", "trips", "trucks", "t"].map((key) => [key, numbers(lanes[key])]));
  const codes = [...materials.map((m) => m.code), "compost"], count = periods.length;
  return Array.from({ length: lanes.count }, (_, i) => {
    const material = codes[columns.material[i]], out = material === "compost";
    const start = (out ? plan.yards : plan.sources)[columns.from[i]], end = (out ? plan.markets : plan.yards)[columns.to[i]];
    const km = columns.km[i] / 10, money = bothWays(columns.money[i]), trips = columns.trips[i] / 10;
    const t = columns.t.slice(i * count, (i + 1) * count).map((v) => v / parts);
    return { id: `lane:${i}`, kind: "lane", name: `${start.name} → ${end.name}`, out, start, end, material, km, money, trips, trucks: texts[columns.trucks[i]], t, year: sum(t) };
  });
}

function readRoad(road, texts, parts, count) {
  const lists = Object.entries(road.load || {}).map(([code, text]) => [code, series(text, parts, count)]);
  return {
    ...road, kind: "road", id: `road:${road.code}`, name: texts[road.name] || road.code, class: texts[road.class], parts: road.parts.map(line),
    load: new Map(lists), loaded: lists.length > 0,
    trips: series(road.trips, 10, count), empty: series(road.empty, 10, count),
  };
}

/* What each yard takes in, material by material, and the lanes at every site. */
function gather(plan) {
  plan.place.forEach((site) => { site.lanes = []; });
  plan.open.forEach((yard) => { yard.intake = new Map(); });
  plan.sources.forEach((source, row) => Object.assign(source, { row, collected: source.supply.map(() => 0) }));
  plan.markets.forEach((market) => { market.delivered = market.demand.map(() => 0); });
  for (const lane of plan.lanes) {
    lane.start.lanes.push(lane);
    lane.end.lanes.push(lane);
    const far = lane.out ? lane.end.delivered : lane.start.collected;
    lane.t.forEach((t, i) => { far[i] += t; });
    if (lane.out) continue;
    const intake = lane.end.intake, list = intake.get(lane.material) || lane.t.map(() => 0);
    lane.t.forEach((t, i) => { list[i] += t; });
    intake.set(lane.material, list);
  }
  if (plan.reach) plan.reach.minutes = plan.reach.states.map((yards) => new Map(yards.map((text, j) => [`yard:${plan.reach.yards[j]}`, numbers(text)])));
}

/* Largest quantities of a plan, for a year and for a single period. [t] */
function tops(plan) {
  const most = (lists) => ({ year: Math.max(1e-9, ...lists.map(sum)), period: Math.max(1e-9, ...lists.map((list) => Math.max(0, ...list))) });
  const total = (lists) => plan.periods.map((_, i) => sum(lists.map((list) => list[i])));
  return {
    yard: most(plan.open.map((yard) => total([...yard.intake.values()]))),
    lane: most(plan.lanes.map((lane) => lane.t)),
    road: most(plan.roads.filter((road) => road.loaded).map((road) => total([...road.load.values()]))),
    source: most(plan.sources.map((source) => source.supply)),
  };
}
/* The larger of two plans' tops, so that both are drawn to one scale. */
function jointTops(a, b) {
  return Object.fromEntries(Object.keys(a).map((key) => [key, { year: Math.max(a[key].year, b[key].year), period: Math.max(a[key].period, b[key].period) }]));
}
