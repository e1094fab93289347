"""Why a site has no part in a plan, as far as the tables and the plan can tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.diagnosis import idle_yards, travel_warnings
from logistics.scenario import records
from maps.shared import count, given_up, grouped, other_yards, yard_status

if TYPE_CHECKING:
    from logistics.results import Result

LOST = "cannot be reached"
"""How a finding begins that says a site has no road."""
KINDS = {"yards.csv": "yard", "sources.csv": "source", "markets.csv": "market"}


def why_unused(result: Result) -> dict[str, str]:
    """
    Say of sites that the plan does not use what keeps them from any use.

    Parameters
    ----------
    result
        A plan.

    Returns
    -------
    dict
        "yard:code", "source:code" or "market:code" -> a sentence. A site that could be
        used, but is not, is not in it: other sites serve the plan better.
    """
    found = _no_way(result) | _no_mix(result) | _too_small(result)
    status, gone = yard_status(result), given_up(result)
    for code in (code for code in status if status[code] == "closed"):
        found[f"yard:{code}"] = (
            f"The plan gives this yard up. {other_yards(result, 'with it')}"
            if code in gone
            else "The scenario keeps this site closed."
        )
    idle = {f"yard:{code}" for code in status if status[code] in ("unused", "closed")}
    most = result.scenario.settings.policy.max_yards
    if most is not None and len(result.plan.yards) >= most:
        for site in sorted(idle - set(found)):
            open_now = count(most, "yard may be open", "yards may be open")
            found[site] = f"At most {open_now}, and that many are."
    return {
        site: sentence
        for site, sentence in found.items()
        if not site.startswith("yard:") or site in idle
    }


def _no_way(result: Result) -> dict[str, str]:
    """Sites that no truck reaches."""
    if not hasattr(result.travel, "pick"):
        return {}
    return {
        f"{KINDS[each.file]}:{each.value}": f"It {each.why}."
        for each in travel_warnings(result.scenario, result.travel)
        if each.why.startswith(LOST)
    }


def _no_mix(result: Result) -> dict[str, str]:
    """Candidates that can compost nothing of what reaches them."""
    if result.instance is None:
        return {}
    return {
        f"yard:{each.value}": f"It {each.why}."
        for each in idle_yards(result.scenario, result.instance)
    }


def _too_small(result: Result) -> dict[str, str]:
    """Candidates whose area fits no size of yard."""
    tables = result.scenario.tables
    least = float(tables["yard_sizes"]["site_m2"].min())
    return {
        f"yard:{row['yard']}": f"Its {grouped(row['area_m2'])} m² are too small for a "
        f"yard of any size: the smallest needs {grouped(least)} m²."
        for row in records(tables["yards"])
        if float(row["area_m2"]) < least and not str(row["existing_size"])
    }
