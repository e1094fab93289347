"""Which sites the land rules refuse, and where else a yard could stand."""

from logistics.land.neighbours import homes_near
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

__all__ = [
    "NOT_LAW",
    "REACH_KM",
    "GridError",
    "barred",
    "barred_lanes",
    "homes_near",
    "no_screening",
    "not_screened",
    "propose",
    "refused",
    "screen",
    "write_proposals",
]
