"""Addresses of online maps."""

import re

TILES = re.compile(r"(https?://[A-Za-z0-9.-]+(?::[0-9]+)?)/[^\s\"'<>;,]*")
"""Address of map tiles; its first group is the server."""


def tile_server(address: str) -> str:
    """
    Return the server of an address of map tiles; nothing if it is not one.

    >>> tile_server("https://tiles.example.org/{z}/{x}/{y}.png")
    'https://tiles.example.org'
    >>> tile_server("https://tiles.example.org/map.png")
    ''
    """
    found = TILES.fullmatch(address)
    whole = all(part in address for part in ("{z}", "{x}", "{y}"))
    return found[1] if found and whole else ""
