"""Invented upland about a lake: coffee husk, lake fish, maize stover, hen manure."""

import math

from drawing import (
    Frame,
    Point,
    blob,
    csv_text,
    inside,
    roughen,
    rows_by_column,
    rows_of,
)

FRAME = Frame(west=88.0, south=-28.3, seed=7)
WIDTH_KM, HEIGHT_KM = 44.0, 34.0
NRAES = "Rynk (ed.), NRAES, On-Farm Composting Handbook NRAES-54, 1992, Table A.1"

MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]
PERIODS = [month[:3].lower() for month in MONTHS]
DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
WORKING_DAYS = [25, 23, 26, 25, 26, 25, 26, 26, 25, 26, 25, 24]
CALENDAR = {  # share of the year in January to December [%]
    "coffee": [18, 10, 4, 2, 0, 0, 0, 2, 8, 16, 20, 20],
    "lake": [8, 8, 9, 9, 10, 9, 8, 8, 8, 7, 8, 8],
    "maize": [0, 0, 0, 0, 10, 40, 35, 15, 0, 0, 0, 0],
    "even": [8.5, 7.7, 8.5, 8.2, 8.5, 8.2, 8.5, 8.5, 8.2, 8.5, 8.2, 8.5],
    "coffee_rows": [5, 5, 20, 25, 10, 0, 0, 5, 15, 15, 0, 0],
    "gardens": [8, 8, 9, 9, 9, 8, 8, 8, 9, 8, 8, 8],
}
VILLAGES: dict[str, tuple[float, float, str]] = {
    "moroveth": (9.5, 24.0, "Moroveth"),
    "anquelle": (18.5, 29.0, "Anquelle"),
    "sulquana": (29.5, 27.2, "Sulquana"),
    "otteluna": (36.6, 21.0, "Otteluna"),
    "chuvanta": (34.6, 10.8, "Chuvanta"),
    "nembasso": (24.0, 5.6, "Nembasso"),
    "wekkatorn": (12.2, 7.4, "Wekkatorn"),
    "illabrae": (6.4, 15.2, "Illabrae"),
}
LAKE = ((21.5, 16.5), (9.0, 5.6))

# village, cherries milled [t/yr], price of husk [/t], room at the mill [t]
COFFEE_MILLS = [
    ("moroveth", 2_160, 0, 120),
    ("anquelle", 3_240, 0, 150),
    ("sulquana", 2_640, 150, 150),
    ("otteluna", 1_680, 0, 80),
    ("chuvanta", 1_920, 0, 120),
    ("wekkatorn", 1_920, 0, 100),
]
# village, fish landed [t/yr], waste [%], laboratory moisture, carbon, nitrogen [%]
LANDINGS = [
    ("anquelle", 700, 38, (None, None, None)),
    ("otteluna", 620, 42, (73.5, 40.1, 9.4)),
    ("nembasso", 840, 38, (None, None, None)),
    ("illabrae", 480, 36, (None, None, None)),
]
STALKS = "2.0 for stalks: Koopmans and Koppejan, FAO, 1997; 1.6 is judgement"
MAIZE = [  # village, hectares
    ("moroveth", 300),
    ("sulquana", 260),
    ("chuvanta", 280),
    ("nembasso", 340),
    ("illabrae", 240),
]
HENS = [  # village, hens kept, every tonne must go
    ("moroveth", 9_000, False),
    ("sulquana", 14_000, True),
    ("otteluna", 8_000, False),
    ("wekkatorn", 12_000, False),
    ("nembasso", 10_000, False),
]
# village, area [m2], rent [/m2/yr], water [m3/day], price [/m3], size built
YARDS = [
    ("moroveth", 12_000, 5, 20, 20, None),
    ("anquelle", 5_000, 25, 25, 35, "small"),
    ("sulquana", 8_000, 8, 30, 20, None),
    ("otteluna", 9_000, 6, 15, 25, None),
    ("chuvanta", 8_000, 4, 20, 20, None),
    ("nembasso", 14_000, 5, 30, 20, None),
    ("wekkatorn", 6_000, 4, 10, 30, None),
    ("illabrae", 9_000, 5, 25, 20, None),
]
# village, crop, basis, tonnes or hectares, t/ha, price [/t], nitrogen limit [kg/ha]
MARKETS = [
    ("moroveth", "coffee", "area", 140, 5, 1_900, None),
    ("anquelle", "coffee", "area", 180, 5, 1_900, None),
    ("sulquana", "coffee", "area", 150, 5, 2_000, 60),
    ("otteluna", "coffee", "area", 110, 5, 2_000, None),
    ("chuvanta", "coffee", "area", 130, 5, 1_900, None),
    ("wekkatorn", "coffee", "area", 120, 5, 1_900, None),
    ("anquelle", "gardens", "tonnes", 420, None, 3_000, None),
    ("nembasso", "gardens", "tonnes", 520, None, 2_900, None),
    ("illabrae", "gardens", "tonnes", 380, None, 2_900, None),
    ("otteluna", "gardens", "tonnes", 340, None, 3_100, None),
]
FROM_SHEETS = "default, not local"
# What is left blank comes from the library, which has no coffee husk or lake fish.
MATERIALS = rows_by_column(
    material=("coffee_husk", "lake_fish_waste", "maize_stover", "layer_manure"),
    name=("Coffee husk", "Lake fish waste", "Maize stover", "Hen manure"),
    moisture_pct=(12, 76, None, None),
    carbon_pct=(44, 38.2, None, None),
    nitrogen_pct=(1.0, 10.6, None, None),
    p2o5_pct=(0.3, 5, None, None),
    k2o_pct=(2.4, 1, None, None),
    ash_pct=(7, 21, None, None),
    salt_pct=(0, 0.2, None, 0.4),
    available_carbon_pct=(70, 100, None, None),
    moisture_range_pct=(0.5, 1, None, None),
    carbon_range_pct=(2, 2, None, None),
    nitrogen_range_pct=(4, 4, None, None),
    loose_kg_m3=(180, 950, None, None),
    hauled_kg_m3=(220, 950, None, None),
    keep_hours=(None, 10, None, None),
    store_loss_pct=(1.5, 0, None, None),
    dry_matter_loss_pct=(30, 50, None, None),
    structure=(True, False, None, None),
    colour=("#8A5A00", "#1F78B4", "#159A72", "#5E2750"),
    status=(FROM_SHEETS, FROM_SHEETS, "", ""),
    source=(
        "all columns from memory; ranges: judgement",
        f"{NRAES} (moisture, N, C:N of mixed fish waste); rest from memory",
        "",
        "salt from memory",
    ),
)
# The hand yard has tools, a pump and a scale, and takes five hours a tonne at 140
# shells. The tractor yard takes half an hour at 200 shells, 3 L of diesel and repair.
YARD_SIZES = rows_by_column(
    size=("small", "big"),
    name=("Hand yard", "Tractor yard"),
    site_m2=(4_000, 9_000),
    pad_m2=(2_400, 6_000),
    store_m3=(700, 2_600),
    compost_store_m3=(500, 1_800),
    works_cost=(1_700_000, 3_400_000),
    works_life_years=(20, 20),
    machine_cost=(200_000, 2_000_000),
    machine_life_years=(8, 9),
    fixed_cost_per_year=(300_000, 800_000),
    handling_cost_per_t=(700, 480),
)
TRUCKS = rows_by_column(
    truck=("lorry", "tractor"),
    name=("Caged lorry, 4 t", "Tractor and trailer, 4 t"),
    payload_t=(4, 4),
    body_m3=(20, 9),
    tare_t=(3.4, 4.6),
    speed_factor=(1, 0.5),
    fuel_l_per_km_loaded=(0.182, 0.333),
    fuel_l_per_km_empty=(0.133, 0.25),
    repair_cost_per_km=(11, 13),
    crew_cost_per_hour=(220, 160),
    owned=(2, 1),
    fixed_cost_per_year=(770_000, 620_000),
    hire_cost_per_hour=(550, 380),
    hire_limit=(6, 8),
    load_minutes=(30, 20),
    unload_minutes=(20, 10),
    wash_minutes=(18, 18),
    carries=("all", "coffee_husk maize_stover layer_manure compost"),
)
SCENARIO = f"""\
# Highlake is invented. It lies in open ocean; no such place exists.
name = "Highlake (invented)"
currency = "shells"
story = "An invented upland about a lake composts coffee husk, maize stover, hen \
manure and lake fish waste for its coffee rows and gardens."

[district]
west = {FRAME.degrees((0, 0))[0]}
south = {FRAME.degrees((0, 0))[1]}
east = {FRAME.degrees((WIDTH_KM, 0))[0]}
north = {FRAME.degrees((0, HEIGHT_KM))[1]}

[travel]
straight_kmh = 24

[mix]
cn_low = 20
cn_high = 40
cn_basis = "total"
moisture_low_pct = 45
moisture_high_pct = 65

[finance]
discount_pct = 12
fuel_price_per_l = 105
leftover_cost_per_t = 150

[solve]
gap_pct = 0.5
seconds = 60
"""


def site(code: str, village: str, far_km: float) -> dict[str, object]:
    """Place a site near a village, on land and out of the lake."""
    random = FRAME.random(code)
    x, y, _ = VILLAGES[village]
    while True:
        angle = 2 * math.pi * random.random()
        away = far_km * (0.5 + 0.5 * random.random())
        point = (x + away * math.cos(angle), y + away * math.sin(angle))
        if inside(point, shore()) and not inside(point, lake()):
            return _where(point)


def landing(village: str) -> dict[str, object]:
    """Place a landing at the lake: from the village towards its middle."""
    x, y, _ = VILLAGES[village]
    (lake_x, lake_y), _ = LAKE
    points = [
        (x + share / 200 * (lake_x - x), y + share / 200 * (lake_y - y))
        for share in range(200)
    ]
    return _where(next(p for p in reversed(points) if not inside(p, lake())))


def _where(point: Point) -> dict[str, object]:
    lon, lat = FRAME.degrees(point)
    district = "upper" if point[1] > LAKE[0][1] else "lower"
    return {"lon": lon, "lat": lat, "district": district}


def shore() -> list[Point]:
    """Coast of the island."""
    ring = blob((22, 17), (19.5, 14.2), FRAME.random("coast"), 36, 0.05)
    return roughen(ring, FRAME.random("coast"), 0.1, 2)


def lake() -> list[Point]:
    """Edge of the lake."""
    ring = blob(*LAKE, FRAME.random("lake"), 30, 0.07)
    return roughen(ring, FRAME.random("lake"), 0.12, 2)


def sources() -> list[dict[str, object]]:
    """Coffee mills, fish landings, maize fields and hen houses."""
    mills = [
        _source(f"coffee_{village}", "coffee mill", "coffee_husk", village, "coffee")
        | {"basis": "processed", "amount": cherries, "waste_pct": 24}
        | {"recoverable_pct": 90, "conversion_source": "24 % from memory"}
        | {"price_per_t": price, "disposal": "burnt", "disposal_cost_per_t": 80}
        | {"can_hold_t": hold}
        for village, cherries, price, hold in COFFEE_MILLS
    ]
    fish = [
        _source(f"fish_{village}", "landing", "lake_fish_waste", village, "lake")
        | landing(village)
        | {"basis": "processed", "amount": landed, "waste_pct": waste}
        | {"recoverable_pct": 95, "conversion_source": "share from memory"}
        | {"tipping_fee_per_t": 200, "disposal": "dumped"}
        | {"disposal_cost_per_t": 6_200, "wait_hours": 3}
        | dict(zip(LAB_COLUMNS, laboratory, strict=True))
        for village, landed, waste, laboratory in LANDINGS
    ]
    maize = [
        _source(f"maize_{village}", "maize", "maize_stover", village, "maize")
        | {"basis": "cropped", "amount": hectares, "yield_t_ha": 2.6}
        | {"residue_ratio": 1.6, "recoverable_pct": 35, "price_per_t": 250}
        | {"conversion_source": STALKS}
        | {"disposal": "burnt", "can_hold_t": 60}
        for village, hectares in MAIZE
    ]
    hens = [
        _source(f"hens_{village}", "hen houses", "layer_manure", village, "even")
        | {"basis": "animals", "amount": birds, "kg_per_head_day": 0.12}
        | {"recoverable_pct": 90, "conversion_source": "0.12 kg from memory"}
        | {
            "disposal": "heaped",
            "disposal_cost_per_t": 1_600,
            "must_collect": must,
            "can_hold_t": 20,
        }
        for village, birds, must in HENS
    ]
    return [*mills, *fish, *maize, *hens]


LAB_COLUMNS = ("lab_moisture_pct", "lab_carbon_pct", "lab_nitrogen_pct")


def _source(
    code: str, what: str, material: str, village: str, season: str
) -> dict[str, object]:
    name = f"{VILLAGES[village][2]} {what}"
    shares = ("waste_pct", "yield_t_ha", "residue_ratio", "kg_per_head_day")
    return (
        {"source": code, "name": name, "material": material}
        | site(code, village, 2.6)
        | {"basis": "", "amount": 0, **dict.fromkeys(shares), "recoverable_pct": 100}
        | {"conversion_source": "", "season": season, "price_per_t": 0}
        | {"tipping_fee_per_t": 0, "disposal": "left", "disposal_cost_per_t": 0}
        | {"must_collect": False, "can_hold_t": 0, "wait_hours": 4}
        | dict.fromkeys(LAB_COLUMNS)
    )


def yards() -> list[dict[str, object]]:
    """One small yard at work and seven candidates."""
    return [
        {"yard": f"yard_{village}", "name": f"{VILLAGES[village][2]} yard"}
        | site(f"yard_{village}", village, 2.2)
        | {"existing_size": size, "area_m2": area, "land_rent_per_m2_year": rent}
        | {"water_m3_per_day": water, "water_price_per_m3": price}
        for village, area, rent, water, price, size in YARDS
    ]


def markets() -> list[dict[str, object]]:
    """Coffee growers, counted in hectares, and gardens, counted in tonnes."""
    return [
        {"market": f"{crop}_{village}", "name": f"{VILLAGES[village][2]} {crop}"}
        | site(f"{crop}_{village}", village, 3.0)
        | {"crop": crop, "basis": basis, "amount": amount, "rate_t_ha": rate}
        | {"season": "coffee_rows" if crop == "coffee" else crop}
        | {"price_per_t": price, "n_limit_kg_ha": limit}
        for village, crop, basis, amount, rate, price, limit in MARKETS
    ]


def land() -> list[dict[str, object]]:
    """Coast, lake and villages with their dwellings."""
    rows = [
        ("island", "Highlake island", "land", FRAME.wkt("POLYGON", shore())),
        ("lake", "The High Lake", "water", FRAME.wkt("POLYGON", lake())),
    ]
    for village, (x, y, name) in VILLAGES.items():
        homes = blob((x, y), (0.6, 0.45), FRAME.random(f"homes {village}"), 16)
        rows += [
            (f"village_{village}", name, "village", FRAME.wkt("POINT", [(x, y)])),
            (f"homes_{village}", name, "dwellings", FRAME.wkt("POLYGON", homes)),
        ]
    return rows_of("land name kind wkt", *rows)


def people() -> list[dict[str, object]]:
    """One row a place: each village in three parts, and the farms about it."""
    rows: list[tuple[object, ...]] = []
    for village, (x, y, name) in VILLAGES.items():
        random = FRAME.random(f"people {village}")
        heads = 500 + 1_900 * random.random()
        parts = (("", 0.0, 0.6), (" east end", 0.35, 0.2), (" west end", -0.35, 0.2))
        for n, (part, east, share) in enumerate(parts):
            lon, lat = FRAME.degrees((x + east, y))
            count = round(heads * share / 10) * 10
            rows.append((f"people_{village}_{n}", name + part, lon, lat, count))
        angle, away = 2 * math.pi * random.random(), 0.9 + 1.3 * random.random()
        point = (x + away * math.cos(angle), y + away * math.sin(angle))
        if inside(point, shore()) and not inside(point, lake()):
            lon, lat = FRAME.degrees(point)
            count = round((60 + 200 * random.random()) / 10) * 10
            rows.append((f"people_{village}_farms", f"{name} farms", lon, lat, count))
    return rows_of("place name lon lat heads", *rows)


def files() -> dict[str, str]:
    """Text of every file of the scenario by its name."""
    shares = [
        (season, period, share)
        for season, months in CALENDAR.items()
        for period, share in zip(PERIODS, months, strict=True)
    ]
    months = zip(PERIODS, MONTHS, DAYS, WORKING_DAYS, strict=True)
    tables = {
        "sources": sources(),
        "yards": yards(),
        "markets": markets(),
        "materials": MATERIALS,
        "calendar": rows_of("season period share_pct", *shares),
        "periods": rows_of("period name days working_days", *months),
        "yard_sizes": YARD_SIZES,
        "trucks": TRUCKS,
        "policy": rows_of(
            "rule material district share_pct",
            ("least_share", "lake_fish_waste", "", 60),
        ),
        "land": land(),
        "people": people(),
    }
    texts = {f"{name}.csv": csv_text(rows) for name, rows in tables.items()}
    return {"scenario.toml": SCENARIO, **texts}
