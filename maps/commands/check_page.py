"""What `loamhaul check` says of a scenario without faults."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from logistics.scenario import in_list

if TYPE_CHECKING:
    from logistics.model import Instance
    from logistics.roads import Travel
    from logistics.scenario import Scenario


def check_lines(
    scenario: Scenario, travel: Travel, instance: Instance
) -> Iterator[str]:
    """Tables, supply and demand, and warnings, line by line."""
    from logistics.composting import yearly_demand, yearly_supply
    from logistics.diagnosis import ACCEPT, HOW, driving_days_only, looked_at

    for table, rows in scenario.tables.items():
        if len(rows):
            yield f"  {table}: {len(rows)} rows"
    supply = yearly_supply(scenario).groupby("material")["tonnes_per_year"].sum()
    short = driving_days_only(scenario)
    for material, tonnes in supply.items():
        yield f"  supply of {material}: {tonnes:,.0f} t/yr"
        if str(material) in short:
            yield f"    {material} {short[str(material)]}"
    asked = yearly_demand(scenario)["tonnes_per_year"].sum()
    yield f"  demand for compost: {asked:,.0f} t/yr"
    used = len(scenario.defaults_used)
    yield f"  {used} cells and settings still have defaults that are not local."
    looked = looked_at(scenario, travel, instance)
    found = looked.open
    if found:
        yield f"  {len(found)} {'warning' if len(found) == 1 else 'warnings'}:"
    for problem in found:
        yield f"  {problem}"
    for sentence in looked.accepted:
        yield f"  {sentence}"
    if any(ACCEPT in problem.remedy for problem in found):
        yield f"  {HOW}"
    yield from screening_lines(scenario)


def screening_lines(scenario: Scenario) -> Iterator[str]:
    """Say what the land screening finds at every yard, and what it could not ask."""
    from logistics.land import NOT_LAW, not_screened, refused, screen
    from maps.shared import clean

    if scenario.settings.siting.screen == "off":
        yield "Land screening is off (siting.screen)."
        return
    found, blind = screen(scenario), not_screened(scenario)
    out = refused(found)
    yield f"Land screening, a {NOT_LAW}:"
    for yard in found["yard"].unique().tolist():
        rows = found[found["yard"] == yard]
        refuse = (rows["action"] == "refuse").tolist()
        partly = "refused for some feedstock" if any(refuse) else "warning"
        yield f"  {yard}: {'refused' if yard in out else partly}"
        for why, no in zip(rows["reason"], refuse, strict=True):
            yield f"    {'refused' if no else 'warning'}: {clean(why)}"
    if found.empty:
        yield "  no yard breaks a rule"
    for why in blind["why"].unique().tolist():
        asked = in_list(blind.loc[blind["why"] == why, "name"])
        yield f"  not checked, {why}: {clean(asked)}"
