"""
The invented roads of Brackwater: villages and junctions, sections and bridges.

Points are kilometres east and north of the south-west corner of the district.
"""

from drawing import Frame, Point, bend

FRAME = Frame(west=-31.30, south=-1.25, seed=20)
WET = ("m07", "m08", "m09")  # months with slow unpaved roads
FLOOD = "m08 m09"  # months in which low roads lie under water
FLOODED = ("low_road", "d3_yessock", "d3_b2e")  # over the flats, and in the delta
CODES = {"Low Road": "low_road"}  # beside the ferry, between the same ends

# Where a village has a name, the name is invented.
NODES: dict[str, tuple[float, float, str]] = {
    "skarnifold": (20.5, 51.5, "Skarnifold"),
    "eddershoal": (17.4, 46.8, "Eddershoal"),
    "n2": (18.6, 41.8, ""),
    "mizzenrope": (15.0, 38.4, "Mizzenrope"),
    "n4": (19.8, 36.6, ""),
    "quillander": (25.0, 34.9, "Quillander"),
    "ulpenny": (31.2, 33.2, "Ulpenny"),
    "n7": (36.4, 32.2, ""),
    "brackwater": (40.6, 31.2, "Brackwater"),
    "wexilow": (24.0, 41.6, "Wexilow"),
    "n10": (29.6, 38.8, ""),
    "garrowisk": (35.7, 37.4, "Garrowisk"),
    "n12": (28.0, 45.6, ""),
    "n13": (35.6, 44.6, ""),
    "tavirush": (40.6, 40.9, "Tavirush"),
    "n15": (25.4, 50.2, ""),
    "ostrewane": (33.2, 50.4, "Ostrewane"),
    "n17": (40.4, 50.6, ""),
    "n18": (41.2, 45.6, ""),
    "b1n": (40.95, 29.65, ""),
    "b1s": (41.05, 28.75, ""),
    "b4w": (44.35, 41.05, ""),
    "b4e": (45.25, 40.95, ""),
    "b6w": (45.05, 50.5, ""),
    "b6e": (46.15, 50.5, ""),
    "hobbentide": (50.5, 39.4, "Hobbentide"),
    "e2": (56.6, 41.0, ""),
    "murrelvey": (63.2, 40.0, "Murrelvey"),
    "e4": (66.8, 44.8, ""),
    "jallowick": (52.4, 46.4, "Jallowick"),
    "e6": (58.8, 48.2, ""),
    "e7": (51.2, 52.0, ""),
    "thessup": (62.2, 52.2, "Thessup"),
    "e9": (49.8, 34.6, ""),
    "e10": (57.4, 36.6, ""),
    "b3n": (57.95, 33.4, ""),
    "b3s": (58.05, 32.4, ""),
    "e11": (47.4, 28.0, ""),
    "dremmock": (53.0, 28.6, "Dremmock"),
    "e13": (58.4, 29.4, ""),
    "zelmarrow": (64.2, 30.4, "Zelmarrow"),
    "e15": (67.8, 27.6, ""),
    "e16": (50.2, 22.8, ""),
    "noddlesedge": (56.2, 22.2, "Noddlesedge"),
    "e18": (62.6, 23.6, ""),
    "e19": (47.4, 17.0, ""),
    "e20": (53.6, 15.6, ""),
    "vorrensha": (60.4, 16.0, "Vorrensha"),
    "e22": (66.0, 18.4, ""),
    "e23": (50.6, 9.0, ""),
    "crindle": (58.0, 8.4, "Crindle"),
    "e25": (64.6, 10.4, ""),
    "e26": (54.4, 3.4, ""),
    "d1": (41.3, 27.4, ""),
    "b5n": (41.55, 25.75, ""),
    "b5s": (41.45, 24.75, ""),
    "pelquin": (41.8, 23.0, "Pelquin"),
    "d3": (36.4, 21.8, ""),
    "fennowar": (36.0, 26.5, "Fennowar"),
    "yessock": (30.6, 24.2, "Yessock"),
    "b2e": (29.1, 20.55, ""),
    "b2w": (28.1, 20.4, ""),
    "sarnuggle": (24.0, 18.8, "Sarnuggle"),
    "quay": (20.7, 19.9, "Sarnuggle Quay"),
    "d9": (20.6, 14.6, ""),
    "thrandmere": (20.6, 10.2, "Thrandmere"),
    "d11": (19.0, 6.0, ""),
    "bruntaway": (19.6, 2.4, "Bruntaway"),
    "d13": (25.8, 13.2, ""),
    "umberlode": (27.2, 8.0, "Umberlode"),
    "d15": (26.2, 3.0, ""),
    "b7w": (30.9, 10.65, ""),
    "b7e": (31.95, 10.55, ""),
    "kessivar": (37.4, 11.4, "Kessivar"),
    "d17": (39.4, 17.4, ""),
    "d18": (43.2, 12.4, ""),
    "d19": (40.4, 6.0, ""),
    "ovrindle": (44.4, 2.6, "Ovrindle"),
    "pier": (13.6, 23.9, "Tarnifex Pier"),
    "ibbermoor": (10.6, 26.0, "Ibbermoor"),
    "plovenacre": (7.6, 27.6, "Plovenacre"),
    "i4": (12.4, 28.0, ""),
}

ROADS: dict[str, tuple[str, ...]] = {
    # class: "from to name[|further points]"
    "paved_main": (
        "skarnifold eddershoal Coast Road",
        "eddershoal n2 Coast Road",
        "n2 n4 Coast Road",
        "n4 quillander Estuary Road",
        "quillander ulpenny Estuary Road",
        "ulpenny n7 Estuary Road",
        "n7 brackwater Estuary Road",
        "d1 b5n Causeway",
        "b1s d1 Causeway",
        "b5s pelquin Causeway",
        "pelquin d3 Delta Road",
        "d3 b2e Delta Road",
        "b2w sarnuggle Delta Road",
        "sarnuggle d9 Coast Road",
        "d9 thrandmere Coast Road",
        "thrandmere d11 Coast Road",
        "d11 bruntaway Coast Road",
        "pelquin e11 East Road|44.6 25.3",
        "e11 dremmock East Road",
        "dremmock e13 East Road",
        "e13 zelmarrow East Road",
    ),
    "paved_local": (
        "brackwater garrowisk Garrowisk Road",
        "garrowisk tavirush Tavirush Road",
        "tavirush b4w Hobbentide Road",
        "b4e hobbentide Hobbentide Road",
        "hobbentide e2 Hobbentide Road",
        "e2 murrelvey Hobbentide Road",
        "hobbentide jallowick Jallowick Road",
        "n2 wexilow Wexilow Road",
        "n4 mizzenrope Cape Road",
        "sarnuggle quay Quay Road",
        "e16 noddlesedge Noddlesedge Road",
        "pelquin e16 Noddlesedge Road|46 21.9",
        "pelquin d17 Kessivar Road",
        "d17 kessivar Kessivar Road",
        "noddlesedge vorrensha Vorrensha Road",
        "hobbentide e9 Weir Road",
        "e2 e10 Iron Bridge Road",
        "e10 b3n Iron Bridge Road",
        "b3s e13 Iron Bridge Road",
        "pier ibbermoor Island Road",
        "ibbermoor plovenacre Island Road",
        "d9 d13 Umberlode Road",
        "d13 umberlode Umberlode Road",
    ),
    "gravel": (
        "wexilow n10 ",
        "n10 garrowisk ",
        "quillander n10 ",
        "wexilow n12 ",
        "n12 n15 ",
        "skarnifold n15 ",
        "n15 ostrewane ",
        "ostrewane n17 ",
        "n17 n18 ",
        "n18 tavirush ",
        "n13 n18 ",
        "n13 ostrewane ",
        "n17 b6w ",
        "b6e e7 ",
        "e7 jallowick ",
        "jallowick e6 ",
        "e6 thessup ",
        "murrelvey e4 ",
        "murrelvey e10 ",
        "e9 e10 ",
        "zelmarrow e15 ",
        "e15 e18 ",
        "noddlesedge e18 ",
        "e18 e22 ",
        "vorrensha e22 ",
        "vorrensha crindle ",
        "crindle e25 ",
        "vorrensha e20 ",
        "e20 e19 ",
        "e20 e23 ",
        "e23 crindle ",
        "crindle e26 ",
        "e23 d18 ",
        "kessivar d18 ",
        "kessivar d19 ",
        "d19 ovrindle ",
        "b7e kessivar ",
        "umberlode b7w ",
        "umberlode thrandmere ",
        "umberlode d15 ",
        "yessock b2e ",
        "i4 ibbermoor ",
        "dremmock noddlesedge ",
    ),
    "earth": (
        "d1 fennowar ",
        "d3 yessock Marsh Road",
        "quay pier Low Road|18.6 20.4|15.4 22.4",
        "e4 thessup ",
        "e2 e6 ",
        "n10 n12 |27.9 42.2",
        "e16 e19 ",
        "d17 e19 ",
        "e26 ovrindle ",
        "e25 e22 ",
        "bruntaway d15 ",
        "d3 d17 ",
        "d13 b2w |28 16.8",
        "n13 garrowisk ",
        "i4 pier ",
    ),
    "ferry": ("quay pier Quay Ferry|18.6 21.4|16.2 23.0",),
    "town": ("brackwater b1n Bridge Street",),
}

BRIDGES = {  # ends: name, class, heaviest truck with its load [t]
    ("b1n", "b1s"): ("Long Bridge", "paved_main", None),
    ("b5n", "b5s"): ("Causeway Bridge", "paved_main", None),
    ("b2e", "b2w"): ("Tamble Bridge", "paved_main", None),
    ("b3n", "b3s"): ("Iron Bridge", "paved_local", 10),
    ("b4w", "b4e"): ("Ottermel Bridge", "paved_local", None),
    ("b6w", "b6e"): ("Upper Ottermel Bridge", "gravel", 18),
    ("b7w", "b7e"): ("Umberlode Bridge", "gravel", None),
}


def roads() -> list[dict[str, object]]:
    """One row a road section; sections meet in shared vertices only."""
    rows = []
    for road_class, sections in ROADS.items():
        for text in sections:
            head, *via = text.split("|")
            start, end, name = head.split(" ", 2)
            rows.append(_road(start, end, name, road_class, via))
    for (start, end), (name, road_class, limit) in BRIDGES.items():
        row = _road(start, end, name, road_class, [], strength=0.0)
        rows.append({**row, "bridge": True, "max_gross_t": limit})
    return rows


def _road(
    start: str,
    end: str,
    name: str,
    road_class: str,
    via: list[str],
    strength: float = 0.075,
) -> dict[str, object]:
    code = CODES.get(name, f"{start}_{end}")
    between = [(float(x), float(y)) for x, y in map(str.split, via)]
    line = bend([place(start), *between, place(end)], FRAME.random(code), strength)
    ferry = road_class == "ferry"
    return {
        "road": code,
        "name": name or f"{road_class.capitalize()} road",
        "class": road_class,
        "bridge": False,
        "max_gross_t": 24 if ferry else None,
        "wait_minutes": 30 if ferry else 0,
        "fare_per_trip": 6 if ferry else 0,
        "closed_periods": FLOOD if code in FLOODED else "",
        "wkt": FRAME.wkt("LINESTRING", line),
    }


def place(node: str) -> Point:
    """Point of a node of the road network."""
    return NODES[node][0], NODES[node][1]
