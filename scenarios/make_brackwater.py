"""Places the invented people of Brackwater and writes all of its tables."""

import math

import brackwater_map as ground
import brackwater_people as inhabitants
import brackwater_roads as roads
from brackwater_map import on_dry_land
from brackwater_roads import FRAME, NODES, place
from brackwater_tables import (
    CALENDAR,
    CATTLE,
    DAYS,
    EXISTING,
    FISH,
    MATERIALS,
    MILLS,
    MONTHS,
    ORCHARDS,
    PADDY,
    PERIODS,
    SCENARIO,
    STRAW,
    TRUCKS,
    VEGETABLES,
    VILLAGES,
    WORKING_DAYS,
    YARD_SIZES,
    YARDS,
    YEARS,
)
from drawing import Point, csv_text, inside, rows_of

CONVERSIONS = ("waste_pct", "yield_t_ha", "residue_ratio", "kg_per_head_day")


class Sites:
    """Places sites one after another, each on dry land and apart from the others."""

    def __init__(self) -> None:
        self.taken: list[Point] = []
        self.districts = {
            code: ring for code, (_, ring) in reversed(ground.districts().items())
        }

    def near(
        self, code: str, node: str, far_km: float, homes_km: float = 0.0
    ) -> dict[str, object]:
        """Place a site 0.4 to 1 times `far_km` from a node, `homes_km` off villages."""
        random = FRAME.random(code)
        x, y = place(node)
        for _ in range(500):
            angle = 2 * math.pi * random.random()
            away = far_km * (0.4 + 0.6 * random.random())
            point = (x + away * math.cos(angle), y + away * math.sin(angle))
            clear = all(math.dist(point, place(v)) >= homes_km for v in VILLAGES)
            if clear and on_dry_land(point) and self._is_free(point):
                return self._take(point)
        raise RuntimeError(f"no room for {code} within {far_km} km of {node}")

    def shore(self, node: str, way: Point) -> dict[str, object]:
        """Place a site at the water's edge, seen from a node in one direction."""
        x, y = place(node)
        step = 0.05 / math.hypot(*way)
        while on_dry_land((x + way[0] * step, y + way[1] * step), clear_km=0.1):
            x, y = x + way[0] * step, y + way[1] * step
        return self._take((x - way[0] * 3 * step, y - way[1] * 3 * step))

    def _is_free(self, point: Point) -> bool:
        return all(math.dist(point, other) > 0.55 for other in self.taken)

    def _take(self, point: Point) -> dict[str, object]:
        self.taken.append(point)
        lon, lat = FRAME.degrees(point)
        district = next(c for c, ring in self.districts.items() if inside(point, ring))
        return {"lon": lon, "lat": lat, "district": district}


def town(node: str) -> str:
    """Name of a node, or of the nearest named one."""
    named = [n for n in NODES if NODES[n][2]]
    nearest = min(named, key=lambda n: math.dist(place(n), place(node)))
    side = _compass(place(nearest), place(node))
    return NODES[nearest][2] + (f" {side}" if nearest != node else "")


def _compass(start: Point, end: Point) -> str:
    turn = math.atan2(end[1] - start[1], end[0] - start[0]) / (math.pi / 2)
    return ("East", "North", "West", "South")[round(turn) % 4]


def sources(sites: Sites) -> list[dict[str, object]]:
    """Mills, fish landings and plants, straw fields and cattle herds."""
    empty = dict.fromkeys(CONVERSIONS)
    rows = []

    def add(code: str, name: str, material: str, where: dict, **values: object) -> None:
        rows.append(
            {"source": code, "name": name, "material": material, **where}
            | {"basis": "", "amount": 0, **empty, "recoverable_pct": 100}
            | {"conversion_source": "", "season": "", "price_per_t": 0}
            | {"disposal": "left", "disposal_cost_per_t": 0, "can_hold_t": 0}
            | {"wait_hours": 4, **values}
        )

    for node, landed, *rest in [(f[0], f[3], *f[1:3], *f[4:]) for f in FISH]:
        way, what, waste, gathered, wait, dumping = rest
        code = f"fish_{node}"
        add(
            *(code, f"{town(node)} {what}", "fish_waste_mixed", sites.shore(node, way)),
            basis="processed",
            amount=landed,
            waste_pct=waste,
            recoverable_pct=gathered,
            conversion_source="FAO CWP Handbook, conversion factors: "
            "share = 1 - 1/factor; recoverable share is judgement",
            season="landings",
            disposal="sea",
            disposal_cost_per_t=dumping,
            wait_hours=wait,
        )
    for node, paddy, gathered, price, hold in MILLS:
        code = f"mill_{node}"
        add(
            *(code, f"{town(node)} mill", "rice_husk", sites.near(code, node, 1.3)),
            basis="processed",
            amount=paddy,
            waste_pct=20,
            recoverable_pct=gathered,
            conversion_source="husk 18 to 24 % of paddy: Madras Agricultural Journal, "
            "husk study, 2019; recoverable share is judgement",
            season="milling",
            price_per_t=price,
            disposal="burnt",
            disposal_cost_per_t=1,
            can_hold_t=hold,
        )
    for node, hectares, hold in STRAW:
        code = f"straw_{node}"
        add(
            *(code, f"{town(node)} straw", "rice_straw", sites.near(code, node, 2.4)),
            basis="cropped",
            amount=hectares,
            yield_t_ha=8.4,
            residue_ratio=0.75,
            recoverable_pct=40,
            conversion_source="straw to grain 0.75: Matias et al., 2019, and "
            "Sustainable Rice Straw Management, 2020, ch. 1; 40 % collected: "
            "Leinonen and Nguyen, 2013; two crops of 4.2 t/ha are judgement",
            season="harvest",
            price_per_t=3,
            disposal="burnt",
            can_hold_t=hold,
        )
    for node, head, gathered, clearing in CATTLE:
        code = f"cattle_{node}"
        add(
            *(code, f"{town(node)} herds", "cattle_manure"),
            sites.near(code, node, 2.4),
            basis="animals",
            amount=head,
            kg_per_head_day=10,
            recoverable_pct=gathered,
            conversion_source="10 kg a head and day from memory; "
            "share gathered is judgement (night pens)",
            season="even",
            disposal="heaped",
            disposal_cost_per_t=clearing,
            can_hold_t=15,
        )
    return rows


def yards(sites: Sites) -> list[dict[str, object]]:
    """Two small yards at work and the candidate sites."""
    return [
        {"yard": f"yard_{node}", "name": f"{town(node)} yard"}
        | sites.near(f"yard_{node}", node, near_km, near_km * 0.75)
        | {"existing_size": EXISTING.get(node), "decision": "free", "area_m2": area}
        | {"works_factor": works, "land_rent_per_m2_year": rent}
        | {"water_m3_per_day": water, "water_price_per_m3": price}
        | {"slope_pct": slope, "water_table_m": depth}
        for node, near_km, area, works, rent, water, price, slope, depth in YARDS
    ]


def markets(sites: Sites) -> list[dict[str, object]]:
    """Farm groups that take compost for paddy, vegetables and orchards."""
    groups = {"paddy": PADDY, "vegetables": VEGETABLES, "orchard": ORCHARDS}
    return [
        {"market": f"{crop}_{node}", "name": f"{town(node)} {crop} group"}
        | sites.near(f"{crop}_{node}", node, 2.2)
        | {"crop": crop, "basis": "area", "amount": hectares, "rate_t_ha": rate}
        | {"season": crop, "price_per_t": price, "n_limit_kg_ha": limit}
        for crop, group in groups.items()
        for node, hectares, rate, price, limit in group
    ]


def calendar() -> list[dict[str, object]]:
    """Season profiles, one row a profile and month."""
    rows = [
        (season, period, share)
        for season, shares in CALENDAR.items()
        for period, share in zip(PERIODS, shares, strict=True)
    ]
    return rows_of("season period share_pct", *rows)


def periods() -> list[dict[str, object]]:
    """Twelve months; unpaved roads are slow in the wet ones."""
    speeds = [60 if period in roads.WET else 100 for period in PERIODS]
    speeds[PERIODS.index("m06")] = 80
    columns = "period name days working_days season_speed_pct"
    months = zip(PERIODS, MONTHS, DAYS, WORKING_DAYS, speeds, strict=True)
    return rows_of(columns, *months)


def files() -> dict[str, str]:
    """Text of every file of the scenario by its name."""
    sites = Sites()
    tables = {
        "sources": sources(sites),
        "yards": yards(sites),
        "markets": markets(sites),
        "materials": MATERIALS,
        "calendar": calendar(),
        "periods": periods(),
        "yard_sizes": YARD_SIZES,
        "trucks": TRUCKS,
        "roads": roads.roads(),
        "land": ground.land(),
        "people": inhabitants.people(),
        "years": YEARS,
    }
    texts = {f"{name}.csv": csv_text(rows) for name, rows in tables.items()}
    return {"scenario.toml": SCENARIO, **texts}
