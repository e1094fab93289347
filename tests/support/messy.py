"""One messy set as an office has it, with the clean rows it stands for; all invented."""

from pathlib import Path

import numpy as np
import openpyxl

MILLS, HERDS, YARDS, BUYERS = 28, 12, 5, 4
GPX = '<?xml version="1.0"?>\n<gpx version="1.1" creator="phone" xmlns="http://www.topografix.com/GPX/1/1">\n{}</gpx>\n'
POINT = '<wpt lat="{}" lon="{}"><ele>4</ele><time>2026-08-01T06:00:00Z</time><name>{}</name></wpt>\n'
FIRST = ("Kel", "Mor", "Tas", "Vin", "Ros", "Dal", "Bry")
LAST = ("wick", "andra", "mere", "oul")
ANSWERS = (
    "Mills 2026:columns.amount.decimal=.",
    "Mills 2026:values.season=milling",
    "Buyers:values.season=planting",
    "Buyers:values.rate_t_ha=5",
    "herds.csv:values.season=even",
    "herds.csv:values.kg_per_head_day=12",
    "yards.gpx:values.area_m2=14000",
    "yards.gpx:values.water_m3_per_day=60",
)
"""What the set leaves open, and its answers."""


def amount_as_typed(place, tonnes):
    """The ways in which this office types tonnes; and what they mean."""
    ways = [f"{tonnes:,} t", f"{tonnes} t", f"{tonnes * 1000} kg", f"{tonnes} tonnes"]
    return ways[place % 4]


def mills():
    """Name, lon, lat, tonnes of husk a year."""
    rng = np.random.default_rng(7)
    names = [f"{a}{b}" for a in FIRST for b in LAST][:MILLS]
    return [
        (f"{name} mill", round(x, 5), round(y, 5), int(tonnes))
        for name, x, y, tonnes in zip(
            names,
            rng.uniform(-31.3, -31.0, MILLS),
            rng.uniform(-1.1, -0.8, MILLS),
            rng.integers(900, 2600, MILLS),
            strict=True,
        )
    ]


def herds():
    """Name, lon, lat, accuracy, head."""
    rng = np.random.default_rng(8)
    return [
        (f"Herd of {a}", round(x, 6), round(y, 6), round(m, 1), int(head))
        for a, x, y, m, head in zip(
            [f"{one}by" for one in (*FIRST, "Sul", "Pen", "Orr", "Ilm", "Ewe")],
            rng.uniform(-31.3, -31.0, HERDS),
            rng.uniform(-1.1, -0.8, HERDS),
            [4.0] * (HERDS - 1) + [48.0],
            rng.integers(150, 900, HERDS),
            strict=True,
        )
    ]


def yards():
    """Name, lon, lat."""
    rng = np.random.default_rng(9)
    return [
        (f"Plot {number}", round(x, 5), round(y, 5))
        for number, x, y in zip(
            range(1, YARDS + 1),
            rng.uniform(-31.3, -31.0, YARDS),
            rng.uniform(-1.1, -0.8, YARDS),
            strict=True,
        )
    ]


def buyers():
    """Name, lon, lat, acres, price a tonne of compost."""
    rng = np.random.default_rng(10)
    return [
        (f"Growers of {place}", round(x, 5), round(y, 5), int(acres), 62.5)
        for place, x, y, acres in zip(
            ("Anmoor", "Belfen", "Corwold", "Duncarr"),
            rng.uniform(-31.3, -31.0, BUYERS),
            rng.uniform(-1.1, -0.8, BUYERS),
            rng.integers(1200, 3000, BUYERS),
            strict=True,
        )
    ]


def write_set(folder: Path) -> list[Path]:
    """Write workbook, survey export and points of the phone."""
    folder.mkdir(parents=True, exist_ok=True)
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Mills 2026"
    sheet.append(["Harvest survey of the lowland office"])
    sheet.append([])
    sheet.append(["Mill", "Location", None, "Rice husk", "Today", "Remarks"])
    sheet.append(["name", "Latitude", "Longitude", "amount per year", "disposal", None])
    sheet.merge_cells("B3:C3")
    for place, (name, lon, lat, tonnes) in enumerate(mills()):
        typed = amount_as_typed(place, tonnes)
        sheet.append([name, lat, lon, typed, "burned" if place % 3 else "dumped", "ok"])
    sheet.append(["TOTAL", None, None, sum(m[3] for m in mills())])
    fields = book.create_sheet("Buyers")
    fields.append(
        ["Name of group", "Coordinates", "Area (acres)", "Price offered per t"]
    )
    for name, lon, lat, acres, price in buyers():
        fields.append([name, f"{lat}, {lon}", acres, f"$ {price:.2f}"])
    notes = book.create_sheet("How to fill in")
    notes.append(["Please send by Friday"])
    book.save(folder / "harvest.xlsx")
    lines = ["start;name of herd;gate-Latitude;gate-Longitude;gate-Altitude;"
             "gate-Accuracy;feedstock;number of animals;KEY"]  # fmt: skip
    lines += [
        f"2026-08-01;{name};{lat};{lon};0;{accuracy};cow dung;{head};uuid:{n}"
        for n, (name, lon, lat, accuracy, head) in enumerate(herds())
    ]
    (folder / "herds.csv").write_text("\n".join(lines), encoding="utf-8")
    points = "".join(POINT.format(lat, lon, name) for name, lon, lat in yards())
    (folder / "yards.gpx").write_text(GPX.format(points), encoding="utf-8")
    return [folder / name for name in ("harvest.xlsx", "herds.csv", "yards.gpx")]
