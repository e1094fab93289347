"""An invented map of a small coastal district, as OpenStreetMap XML and as PBF."""

import struct
from dataclasses import dataclass, field
from pathlib import Path
from xml.sax.saxutils import quoteattr

LON, LAT = -30.50, 0.50
"""A corner in open ocean: nothing here is a real place. [degrees]"""
STEP = 0.01
"""Width of a cell of the invented grid. [degrees]"""


@dataclass
class MapFile:
    """Nodes, ways and relations; positions are in cells of the grid."""

    nodes: list = field(default_factory=list)
    ways: list = field(default_factory=list)
    relations: list = field(default_factory=list)
    bare: dict = field(default_factory=dict)
    number: int = 0

    def _next(self) -> int:
        self.number += 1
        return self.number

    def node(self, x: float, y: float, **tags: str) -> int:
        if not tags and (x, y) in self.bare:
            return self.bare[x, y]
        number = self._next()
        if not tags:
            self.bare[x, y] = number
        self.nodes.append((number, LON + x * STEP, LAT + y * STEP, tags))
        return number

    def way(self, spots, **tags: str) -> int:
        refs = [self.node(x, y) for x, y in spots]
        self.ways.append((self._next(), refs, tags))
        return self.number

    def area(self, x: float, y: float, wide: float, high: float, **tags: str) -> int:
        spots = [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high), (x, y)]
        return self.way(spots, **tags)

    def border(self, spots, name: str) -> None:
        """Relation of one way: a district."""
        way = self.way(spots)
        tags = {"type": "boundary", "boundary": "administrative",
                "admin_level": "6", "name": name}  # fmt: skip
        self.relations.append((self._next(), [way], tags))

    def write(self, path: Path) -> Path:
        if path.suffix == ".pbf":
            path.write_bytes(as_pbf(self))
        else:
            path.write_text(as_xml(self), encoding="utf-8")
        return path


def as_xml(it: MapFile) -> str:
    def tagged(tags):
        return "".join(
            f"<tag k={quoteattr(k)} v={quoteattr(v)}/>" for k, v in tags.items()
        )

    lines = ['<?xml version="1.0" encoding="UTF-8"?>', '<osm version="0.6">']
    lines += [f'<node id="{n}" version="1" lat="{lat:.7f}" lon="{lon:.7f}">'
              f"{tagged(tags)}</node>" for n, lon, lat, tags in it.nodes]  # fmt: skip
    for n, refs, tags in it.ways:
        parts = "".join(f'<nd ref="{ref}"/>' for ref in refs)
        lines.append(f'<way id="{n}" version="1">{parts}{tagged(tags)}</way>')
    for n, refs, tags in it.relations:
        parts = "".join(f'<member type="way" ref="{r}" role="outer"/>' for r in refs)
        lines.append(f'<relation id="{n}" version="1">{parts}{tagged(tags)}</relation>')
    return "\n".join([*lines, "</osm>\n"])


def _varint(value: int) -> bytes:
    value &= (1 << 64) - 1
    out = bytearray()
    while value > 127:
        out.append(value & 127 | 128)
        value >>= 7
    return bytes([*out, value])


def _turned(value: int) -> int:
    return value << 1 ^ value >> 63


def _number(place: int, value: int) -> bytes:
    return _varint(place << 3) + _varint(value)


def _bytes(place: int, data: bytes) -> bytes:
    return _varint(place << 3 | 2) + _varint(len(data)) + data


def _run(place: int, values) -> bytes:
    values = list(values)
    return _bytes(place, b"".join(map(_varint, values))) if values else b""


def _steps(values) -> list[int]:
    return [_turned(b - a) for a, b in zip([0, *values], values, strict=False)]


def _blob(kind: str, data: bytes) -> bytes:
    blob = _bytes(1, data)
    head = _bytes(1, kind.encode()) + _number(3, len(blob))
    return struct.pack(">I", len(head)) + head + blob


def as_pbf(it: MapFile) -> bytes:
    """The format of the wiki page *PBF Format*, from memory; without packing."""
    texts = [""]

    def tagged(tags):
        places = []
        for text in [*tags, *tags.values()]:
            if text not in texts:
                texts.append(text)
            places.append(texts.index(text))
        return _run(2, places[: len(tags)]) + _run(3, places[len(tags) :])

    nodes = ways = relations = b""
    for n, lon, lat, tags in it.nodes:
        where = [_number(place, _turned(round(degrees * 1e7)))
                 for place, degrees in ((8, lat), (9, lon))]  # fmt: skip
        nodes += _bytes(1, _number(1, _turned(n)) + tagged(tags) + b"".join(where))
    for n, refs, tags in it.ways:
        ways += _bytes(3, _number(1, n) + tagged(tags) + _run(8, _steps(refs)))
    for n, refs, tags in it.relations:
        texts += ["outer"] * ("outer" not in texts)
        member = _run(8, [texts.index("outer")] * len(refs)) + _run(9, _steps(refs))
        member += _run(10, [1] * len(refs))
        relations += _bytes(4, _number(1, n) + tagged(tags) + member)
    table = b"".join(_bytes(1, text.encode()) for text in texts)
    head = _bytes(4, b"OsmSchema-V0.6")
    groups = b"".join(_bytes(2, things) for things in (nodes, ways, relations))
    block = _bytes(1, table) + groups
    return _blob("OSMHeader", head) + _blob("OSMData", block)


def district() -> MapFile:
    """
    Make the map: land in the west, the sea in the east, and what stands on the land.

    The sites of `with_sites` lie at x -2 to 8, y 0 to 10.
    """
    it = MapFile()
    # the coast runs north with the land on its left
    coast = [(13 + (y % 2) * 0.4, y) for y in range(-30, 31)]
    it.way(coast, natural="coastline")
    it.area(13.8, 4, 0.5, 0.6, natural="coastline", name="Islet")
    it.way([(-6, 9), (-2, 8), (2, 8.5), (6, 7), (10, 7.2), (13, 7)],
           waterway="river", name="Long River")  # fmt: skip
    it.way([(2, 8.5), (2.5, 12)], waterway="stream")
    it.way([(0, 1), (1, 1), (2, 1)], waterway="ditch")
    it.area(8, 2, 1.2, 0.7, natural="water", name="Still Lake")
    it.area(-3, -4, 3, 2, landuse="forest", name="Old Wood")
    it.area(4, 12, 2, 1.5, boundary="protected_area", name="Crane Marsh")
    it.area(9.5, 5.5, 1, 0.6, natural="wetland")
    it.area(4.2, 4.2, 0.8, 0.5, landuse="residential", name="Midtown homes")
    for n in range(6):
        it.area(6 + 0.02 * n, 1, 0.012, 0.012, building="yes")
    it.area(4.4, 4.4, 0.01, 0.01, building="house")
    it.area(1, 5, 0.03, 0.03, building="barn")
    it.area(7, 9.5, 0.6, 0.3, landuse="industrial")
    it.node(4.6, 4.45, place="town", name="Midtown")
    it.node(6.05, 1.05, place="village", name="Low Ferry")
    it.node(1, 9, place="hamlet", name="Upper Bend")
    it.node(4.5, 4.6, amenity="school", name="Midtown school")
    it.node(4.3, 4.3, healthcare="clinic")
    it.node(6.2, 1.2, man_made="water_well")
    it.node(80, 80, amenity="school", name="Far away school")
    it.way([(-4, 4.4), (0, 4.4), (4.6, 4.4), (9, 4.4), (12.5, 5)], highway="primary",
           name="Coast road")  # fmt: skip
    it.way([(4.6, 4.4), (5, 2.5), (6, 1.1)], highway="unclassified")
    it.way([(0, 4.4), (0.5, 7), (1, 9)], highway="tertiary", surface="asphalt")
    it.way([(9, 4.4), (8.6, 6.9), (8.6, 7.4), (9, 10)], highway="secondary")
    it.way([(6, 1.1), (6.3, 0.9)], highway="footway")
    it.border([(-8, -8), (3.5, -8), (3.5, 16), (-8, 16), (-8, -8)], "West <district>")
    it.border([(3.5, -8), (18, -8), (18, 16), (3.5, 16), (3.5, -8)], "East district")
    return it


def with_sites(folder: Path) -> Path:
    """Write the scenario of the map: the starter's, with sites of its own."""
    from logistics.scenario import new_scenario

    new_scenario(folder)
    for name, words in {
        "sources.csv": {"Example mill": "Long River mill",
                        "Example herd": "Midtown herd",
                        "Example fish pier": "Low Ferry pier",
                        "-30.4,0.5,": "-30.438,0.508,"},
        "yards.csv": {"Example site A": "Ferry field", "Example site B": "East field"},
        "markets.csv": {"Example farms": "Bend farms"},
        "scenario.toml": {"Example district (invented, in open ocean)": "Crane Coast",
                          "west = -31": "west = -30.6", "south = 0": "south = 0.42",
                          "east = -30": "east = -30.34", "north = 1": "north = 0.67"},
    }.items():  # fmt: skip
        text = (folder / name).read_text(encoding="utf-8")
        for old, new in words.items():
            assert old in text, f"{name}: {old}"
            text = text.replace(old, new)
        (folder / name).write_text(text, encoding="utf-8")
    return folder
