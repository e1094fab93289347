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
/* A list by period: 0 is "no value". */
const series = (list, parts) => list.map((value) => (value ? bothWays(value - 1) / parts : null));
function line(text) {
  const steps = numbers(text), points = [];
  for (let i = 0, x = 0, y = 0; i < steps.length; i += 2) {
    x += bothWays(steps[i]);
    y += bothWays(steps[i + 1]);
    points.push([y / 1e5, x / 1e5]);
  }
  return points;
}

const SERIES = {
  yards: { charge: 10, cn: 10, moisture: 10, water: 10, pad: 1000, made: 10, leftover: 10 },
  sources: { supply: 100, collected: 100, uncollected: 100, worth: 100 },
  markets: { demand: 100, delivered: 100, worth: 100 },
};
const TEXTS = ["reckoned", "from", "today", "crop", "size"];

/* Read the block; every site, lane and road gets an id such as "yard:y1". */
function readPlan(block) {
  const texts = block.texts, plan = { ...block, place: new Map() };
  for (const [table, lists] of Object.entries(SERIES)) {
    const kind = table.slice(0, -1);
    plan[table] = block[table].map((row) => {
      const site = { ...row, kind, id: `${kind}:${row.code}` };
      for (const [key, parts] of Object.entries(lists)) if (row[key] !== undefined) site[key] = series(numbers(row[key]), parts);
      for (const key of TEXTS) if (row[key] !== undefined) site[key] = texts[row[key]];
      if (row.money) site.money = row.money.map(([text, amount]) => [texts[text], amount]);
      plan.place.set(site.id, site);
      return site;
    });
  }
  plan.material = new Map(block.materials.map((m, i) => [m.code, { ...m, shape: SHAPE_ORDER[i % SHAPE_ORDER.length] }]));
  plan.material.set("compost", { ...block.compost, shape: "leaf" });
  plan.lanes = readLanes(block, plan);
  plan.roads = block.roads.map((road) => readRoad(road, texts));
  plan.roads.concat(plan.lanes).forEach((item) => plan.place.set(item.id, item));
  plan.land = block.land.map((land) => ({ ...land, kind: texts[land.kind], parts: land.parts.map(line) }));
  plan.open = plan.yards.filter((yard) => yard.status === "open" || yard.status === "existing");
  gather(plan);
  return plan;
}

function readLanes({ lanes, materials, periods, texts }, plan) {
  const columns = Object.fromEntries(["from", "to", "material", "km", "money", "trips", "trucks", "t"].map((key) => [key, numbers(lanes[key])]));
  const codes = [...materials.map((m) => m.code), "compost"], count = periods.length;
  return Array.from({ length: lanes.count }, (_, i) => {
    const material = codes[columns.material[i]], out = material === "compost";
    const start = (out ? plan.yards : plan.sources)[columns.from[i]], end = (out ? plan.markets : plan.yards)[columns.to[i]];
    const [km] = series([columns.km[i]], 10), [money] = series([columns.money[i]], 1), [trips] = series([columns.trips[i]], 10);
    const t = series(columns.t.slice(i * count, (i + 1) * count), lanes.parts).map((v) => v || 0);
    return { id: `lane:${i}`, kind: "lane", name: `${start.name} → ${end.name}`, out, start, end, material, km, money, trips, trucks: texts[columns.trucks[i]], t, year: sum(t) };
  });
}

function readRoad(road, texts) {
  const lists = Object.entries(road.load || {}).map(([code, text]) => [code, series(numbers(text), 10).map((v) => v || 0)]);
  return {
    ...road, kind: "road", id: `road:${road.code}`, name: texts[road.name] || road.code, class: texts[road.class], parts: road.parts.map(line),
    load: new Map(lists), loaded: lists.length > 0,
    trips: series(numbers(road.trips || ""), 10), empty: series(numbers(road.empty || ""), 10),
  };
}

/* What each yard takes in, material by material, and the lanes at every site. */
function gather(plan) {
  plan.place.forEach((site) => { site.lanes = []; });
  plan.open.forEach((yard) => { yard.intake = new Map(); });
  for (const lane of plan.lanes) {
    lane.start.lanes.push(lane);
    lane.end.lanes.push(lane);
    if (lane.out) continue;
    const intake = lane.end.intake, list = intake.get(lane.material) || lane.t.map(() => 0);
    lane.t.forEach((t, i) => { list[i] += t; });
    intake.set(lane.material, list);
  }
  if (plan.reach) plan.reach.minutes = plan.reach.states.map((yards) => new Map(yards.map((text, j) => [`yard:${plan.reach.yards[j]}`, numbers(text)])));
  plan.sources.forEach((source, row) => { source.row = row; });
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
