"""Which sites the land rules refuse, and where else a yard could stand."""

from logistics.land.neighbours import homes_near
from logistics.land.people import PeopledPlaces, near_roads, peopled_places
from logistics.land.proposals import REACH_KM, GridError, propose, write_proposals
from logistics.land.screening import (
    NOT_LAW,
    barred,
    barred_lanes,
    no_screening,
    not_screened,
    refused,
    screen,
)
from logistics.land.setbacks import Plane
from logistics.land.settlements import RANKS, with_places
from logistics.land.shapes import parts
from logistics.land.spot import (
    Laid,
    Near,
    lay,
    nearest,
    no_go,
    screen_spot,
)

__all__ = [
    "NOT_LAW",
    "RANKS",
    "REACH_KM",
    "GridError",
    "Laid",
    "Near",
    "PeopledPlaces",
    "Plane",
    "barred",
    "barred_lanes",
    "homes_near",
    "lay",
    "near_roads",
    "nearest",
    "no_go",
    "no_screening",
    "not_screened",
    "parts",
    "peopled_places",
    "propose",
    "refused",
    "screen",
    "screen_spot",
    "with_places",
    "write_proposals",
]
