"""Proposed sites: found, written beside the tables, and printed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from rich.table import Table
from rich.text import Text

from logistics.land import NOT_LAW, REACH_KM, propose, write_proposals
from maps.shared import clean, grouped, named, names_of, print_table, text_console

if TYPE_CHECKING:
    import pandas as pd

    from logistics.scenario import Scenario


def propose_into(
    scenario: Scenario, folder: Path, count: int, spacing_km: float
) -> None:
    """Propose sites, write them into a folder and print them."""
    proposals = propose(scenario, count, spacing_km)
    lines = [
        "No suitable place was found, so nothing was written. Try a smaller --spacing."
    ]
    console = text_console()
    if len(proposals):
        path = write_proposals(proposals, folder)
        district = named(proposals["district"], names_of(scenario, "district"))
        shown = proposals.assign(district=district)
        print_table(console, proposal_table(shown))
        warned = proposals.loc[proposals["warnings"] != "", ["name", "warnings"]]
        lines = [
            "",
            f"A {NOT_LAW}.",
            *(f"- {name}: {clean(why)}" for name, why in warned.to_numpy().tolist()),
            f"Written to {path}, in the form of yards.csv, which is not changed.",
            "Visit them, fill in water, rent, slope and water table, then copy the",
            "rows you want into yards.csv.",
        ]
    for line in lines:
        console.print(Text(line), highlight=False)


def proposal_table(proposals: pd.DataFrame) -> Table:
    """Proposed sites, best first; see `proposals.propose`."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for heading in ("Proposal", "District"):
        table.add_column(heading)
    reach = f"t/yr within {REACH_KM:g} km"
    for heading in ("Lon", "Lat", reach, "Mean km", "Gain t km/yr"):
        table.add_column(heading, justify="right")
    for row in proposals.to_dict("records"):
        table.add_row(
            *(str(row["name"]), clean(row["district"])),
            *(f"{row['lon']:.5f}", f"{row['lat']:.5f}"),
            *(grouped(row["within_reach_t"]), grouped(row["mean_km"], 1)),
            grouped(row["gain_t_km"]),
        )
    return table
