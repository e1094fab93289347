"""
The map of a large plan, and the same flows in folium with one object each.

    python tests/benchmarks/bench_map.py

60 yards, 300 sources, 40 markets on brackwater's roads, 3,000 flows x 12 months, all
invented from a seed; travel times, load on roads and mixes are worked out as for a
plan. Prints a table for RESULTS.md. Needs Chromium.
"""

import argparse
import os
import platform
import re
import statistics
import sys
import tempfile
import time
from dataclasses import replace
from functools import partial
from importlib.metadata import version
from pathlib import Path
from types import SimpleNamespace

import folium
import numpy as np
import pandas as pd

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from support import fake_result  # noqa: E402
from support.chromium import browser  # noqa: E402

from logistics.composting.supply import yearly_supply  # noqa: E402
from logistics.results.haulage import no_savings  # noqa: E402
from logistics.results.mixes import mix_table  # noqa: E402
from logistics.roads.travel_matrices import Travel, travel  # noqa: E402
from logistics.scenario.scenario import Scenario, read_scenario  # noqa: E402
from maps.geo.web_map import leaflet, write_map  # noqa: E402

say = partial(print, flush=True)  # a benchmark speaks
PAINTED = """() => new Promise((done) => requestAnimationFrame(() => {
  const channel = new MessageChannel();
  channel.port1.onmessage = () => done(performance.now());
  channel.port2.postMessage(0);
}))"""
CHANGE = """(period) => new Promise((done) => {
  const begin = performance.now();
  loamhaul.setPeriod(period);
  requestAnimationFrame(() => {
    const channel = new MessageChannel();
    channel.port1.onmessage = () => done(performance.now() - begin);
    channel.port2.postMessage(0);
  });
})"""
COLOURS = ("#C27C0A", "#1F78B4", "#159A72", "#5E2750")


def enlarged(table: pd.DataFrame, code: str, count: int, rng) -> pd.DataFrame:
    """Repeat the rows of a table of places up to a count, at places of their own."""
    rows = table.iloc[np.arange(count) % len(table)].reset_index(drop=True)
    names = [f"{name} {i + 1}" for i, name in enumerate(rows["name"])]
    return rows.assign(
        **{code: [f"{code}_{i + 1}" for i in range(count)]},
        name=names,
        lon=rows["lon"] + rng.uniform(-0.02, 0.02, count),
        lat=rows["lat"] + rng.uniform(-0.02, 0.02, count),
    )


def district(yards: int, sources: int, markets: int, rng) -> Scenario:
    """Brackwater with more places."""
    base = read_scenario(ROOT / "scenarios" / "brackwater")
    tables = dict(base.tables)
    for name, code, count in (
        ("yards", "yard", yards),
        ("sources", "source", sources),
        ("markets", "market", markets),
    ):
        tables[name] = enlarged(tables[name], code, count, rng)
    tables["yards"] = tables["yards"].assign(decision="free", existing_size="")
    return replace(base, tables=tables)


def flows(made: Scenario, ways: Travel, wanted: int, rng) -> pd.DataFrame:
    """From sources to yards that a truck reaches, two from each yard to markets."""
    periods, truck = list(made.periods["period"]), str(made.trucks["truck"].iloc[-1])
    state = ways.states[ways.state_of[truck, periods[0]]]
    rows = []
    for kind, ends, count in (
        ("in", ("source", "yard"), wanted - 2 * len(made.yards)),
        ("out", ("yard", "market"), 2 * len(made.yards)),
    ):
        start, end = (list(made.tables[f"{name}s"][name]) for name in ends)
        km = state.km[np.ix_(ways.index(ends[0], start), ways.index(ends[1], end))]
        for i, origin in enumerate(start):
            near = np.flatnonzero(np.isfinite(km[i]))
            share = count // len(start) + (i < count % len(start))
            for j in rng.choice(near, min(share, len(near)), replace=False):
                amounts = rng.gamma(2.0, 4.0, len(periods))
                for period, tonnes in zip(periods, amounts, strict=True):
                    rows.append((kind, origin, end[j], period, tonnes, km[i, j]))
    table = pd.DataFrame(
        rows, columns=["kind", "origin", "destination", "period", "tonnes", "km"]
    )
    material = made.sources.set_index("source")["material"]
    trips = table["tonnes"] / 5
    return table.assign(
        material=table["origin"].map(material).fillna("compost"),
        truck=truck,
        trips=trips,
        hours=trips * table["km"] / 15,
        money=trips * table["km"] * 1.1,
        vehicle_km=trips * table["km"] * 2,
    )


def result(yards: int, sources: int, markets: int, wanted: int, seed: int):
    """Return what the outputs need of a result; its tonnes are invented."""
    rng = np.random.default_rng(seed)
    made = district(yards, sources, markets, rng)
    ways = travel(made)
    lanes = flows(made, ways, wanted, rng)
    inward, outward = lanes[lanes["kind"] == "in"], lanes[lanes["kind"] == "out"]
    hauls = inward.rename(columns={"origin": "source", "destination": "yard"})
    hauls = hauls[["source", "yard", "truck", "period", "tonnes"]]
    charges = (
        inward.rename(columns={"destination": "yard", "material": "feedstock"})
        .groupby(["yard", "feedstock", "period"], as_index=False)["tonnes"]
        .sum()
    )
    inside = charges.groupby(["yard", "period"], as_index=False)["tonnes"].sum()
    sizes = list(made.yard_sizes["size"])
    some = made.sources["source"][::3]  # every third is collected in part
    left = hauls[hauls["source"].isin(some)].drop_duplicates(["source", "period"])
    places = [
        (kind, where, when, float(rng.uniform(0, 9)), "t", "")
        for kind, codes in (
            ("supply", made.sources["source"]),
            ("demand", made.markets["market"]),
        )
        for where in codes
        for when in made.periods["period"]
    ]
    plan = fake_result.plan(
        yards=pd.DataFrame(
            {
                "yard": made.yards["yard"],
                "size": [sizes[i % len(sizes)] for i in range(yards)],
            }
        ),
        hauls=hauls,
        deliveries=outward.rename(columns={"origin": "yard", "destination": "market"})[
            ["yard", "market", "truck", "period", "tonnes"]
        ],
        uncollected=left[["source", "period", "tonnes"]],
        charges=charges,
        held=hauls.iloc[:0][["source", "period", "tonnes"]],
        stock=charges.iloc[:0],
        water=inside.assign(tonnes=inside["tonnes"] * 0.3),
        compost=inside.assign(
            made_t=inside["tonnes"] * 0.5, stock_t=0.0, leftover_t=1.0
        ).drop(columns="tonnes"),
        worth=pd.DataFrame(
            places, columns=["kind", "where", "when", "value", "unit", "words"]
        ),
    )
    return SimpleNamespace(
        scenario=made,
        supply=yearly_supply(made),
        travel=ways,
        instance=None,
        plan=plan,
        mixes=mix_table(made, plan),
        lanes=lanes,
        paired_trips=no_savings(),
        ledger=fake_result.ledger(),
        audit=None,
        summary=fake_result.summary(),
    )


def naive(made, path: Path, period: str) -> None:
    """Write one folium object a place and a flow, of one month."""
    tables, at = made.scenario.tables, {}
    page = folium.Map(location=(-1.0, -31.0), zoom_start=10, tiles=None)
    for name, code in (("yards", "yard"), ("sources", "source"), ("markets", "market")):
        for row in tables[name].to_dict("records"):
            at[row[code]] = (row["lat"], row["lon"])
            folium.CircleMarker(
                at[row[code]], radius=5, tooltip=f"{row['name']} ({row[code]})"
            ).add_to(page)
    for row in tables["roads"].to_dict("records"):
        pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", row["wkt"])
        line = [(float(lat), float(lon)) for lon, lat in pairs]
        folium.PolyLine(line, weight=1, color="#999999").add_to(page)
    month = made.lanes[made.lanes["period"] == period]
    codes = sorted(set(month["material"]))
    for row in month.to_dict("records"):
        folium.PolyLine(
            [at[row["origin"]], at[row["destination"]]],
            weight=max(1.0, row["tonnes"] / 4),
            color=COLOURS[codes.index(row["material"]) % len(COLOURS)],
            tooltip=f"{row['origin']} to {row['destination']}: {row['tonnes']:,.0f} t",
        ).add_to(page)
    page.save(str(path))


def serve(route) -> None:
    """Give folium's page its Leaflet from the disk, and nothing for all else."""
    name = route.request.url.rsplit("/", 1)[-1]
    if route.request.url.startswith("file:"):
        route.continue_()
    elif name in ("leaflet.js", "leaflet.css"):
        route.fulfill(body=leaflet(name))
    else:
        route.fulfill(body="")


def opened(started, file: Path):
    """Open a page; return it and when its first picture was there [s]."""
    page = started.new_page(viewport={"width": 1280, "height": 800})
    page.route("**/*", serve)
    page.goto(file.as_uri(), wait_until="load")
    return page, page.evaluate(PAINTED) / 1000


def middle(values) -> str:
    """Median and range."""
    values = list(values)
    return f"{statistics.median(values):.2f} ({min(values):.2f}-{max(values):.2f})"


def main() -> None:
    """Measure."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--yards", type=int, default=60)
    ask.add_argument("--sources", type=int, default=300)
    ask.add_argument("--markets", type=int, default=40)
    ask.add_argument("--flows", type=int, default=3000)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--repeat", type=int, default=7)
    ask.add_argument("--keep", type=Path, help="folder to keep the two pages in")
    given = ask.parse_args()
    made = result(given.yards, given.sources, given.markets, given.flows, given.seed)
    folder = given.keep or Path(tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    ours, theirs = folder / "ours.html", folder / "folium.html"
    periods = list(made.scenario.periods["period"])
    wrote: dict[str, list[float]] = {"ours": [], "folium": []}
    for _ in range(3):
        for name, write in (
            ("ours", partial(write_map, made, ours)),
            ("folium", partial(naive, made, theirs, periods[3])),
        ):
            begin = time.perf_counter()
            write()
            wrote[name].append(time.perf_counter() - begin)
    first: dict[str, list[float]] = {"ours": [], "folium": []}
    ready, change = [], []
    with browser() as started:
        chromium = started.version
        for _ in range(given.repeat):
            page, seconds = opened(started, ours)
            first["ours"].append(seconds)
            ready.append(page.evaluate("loamhaul.ready") / 1000)
            for month in (3, 9, -1, 6):
                change.append(page.evaluate(CHANGE, month))
            page.close()
            page, seconds = opened(started, theirs)
            first["folium"].append(seconds)
            drawn = page.evaluate("document.querySelectorAll('path').length")
            page.close()
    inward = (made.lanes["kind"] == "in").sum() // len(periods)
    say(f"{given.yards} yards, {given.sources} sources, {inward:,} flows to yards, "
        f"{len(made.lanes) // len(periods) - inward} to markets, "
        f"{len(periods)} periods; folium drew {drawn:,} paths")  # fmt: skip
    say("| | ours, 12 months | folium, 1 month |\n|---|--:|--:|")
    for what, a, b in (
        ("file [kB]", *(f"{p.stat().st_size / 1000:,.0f}" for p in (ours, theirs))),
        ("write [s]", *(middle(wrote[name]) for name in wrote)),
        ("script done, map drawn [s]", middle(ready), "-"),
        ("first picture [s]", *(middle(first[name]) for name in first)),
        ("month change [ms]", middle(change), "another file"),
    ):
        say(f"| {what} | {a} | {b} |")
    say(platform.platform(), f"load {os.getloadavg()[0]:.1f}",
        f"Python {platform.python_version()}, Chromium {chromium},",
        *(f"{n} {version(n)}" for n in ("folium", "pandas", "numpy")))  # fmt: skip


if __name__ == "__main__":
    main()
