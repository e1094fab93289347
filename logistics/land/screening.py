"""
Land screening: which candidates stand too near to what, and why.

A planning screen, not law; local codes and licensed practice decide. A yard is a point
with an area, so it is taken as a disc of that area about the point, and distances
are measured from the disc's edge: a long, narrow site may lie nearer to its
neighbours than is told here. Features are as drawn: a river drawn as a line is measured
from that line, not from its bank.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.composting import spoils
from logistics.land.setbacks import (
    Discs,
    Features,
    Plane,
    distance_m,
    ground,
    share_inside,
)
from logistics.land.settlements import with_places
from logistics.scenario import FIGURES, Row, records

if TYPE_CHECKING:
    from logistics.scenario import Scenario

NOT_LAW = "planning screen, not law; local codes and licensed practice decide"
SPOILS = "spoils"
"""Word of a siting rule that holds for all feedstock that spoils."""

WORDS = {
    "well": "a well",
    "water": "open water",
    "river": "a river",
    "coast": "the coast",
    "village": "a village",
    "school": "a school",
    "clinic": "a clinic",
    "boundary": "the property line",
    "flood": "flood land",
    "protected": "protected land",
    "road": "the nearest road",
    "water_table": "water table",
}
"""What a subject is called in a reason; the others go by their own name."""

COLUMNS = (
    *("yard", "rule", "feedstock", "subject", "feature"),
    *("found", "needed", "unit", "action", "reason"),
)


def no_screening() -> pd.DataFrame:
    """Return a screening without rows: nothing is refused."""
    return pd.DataFrame({name: pd.Series(dtype="object") for name in COLUMNS})


def screen(scenario: Scenario) -> pd.DataFrame:
    """
    Hold every yard against every siting rule.

    Parameters
    ----------
    scenario
        Tables yards, land, roads, siting_rules, yard_sizes, materials, sources;
        settings.siting.screen.

    Returns
    -------
    DataFrame
        One row for each rule a yard breaks: yard, rule, feedstock (blank stands for
        all), subject, feature (name of what is too near), found and needed [unit],
        unit, action (refuse or warn) and reason in words. Yards that are built, and
        those that the scenario decides to open, are only warned about.
    """
    if scenario.settings.siting.screen == "off" or scenario.yards.empty:
        return no_screening()
    return screen_on(scenario, *_laid(scenario))


def screen_on(
    scenario: Scenario, sites: Discs, features: dict[str, Features]
) -> pd.DataFrame:
    """Hold yards that lie on a plane already against every rule; see `screen`."""
    setting = scenario.settings.siting.screen
    measured: dict[tuple[str, bool], tuple[NDArray[Any], Any]] = {}
    rows: list[Row] = []
    for rule in records(scenario.siting_rules):
        key = (rule["subject"], rule["comparison"] == "outside")
        if key not in measured:
            measured[key] = _measure(scenario, *key, sites, features)
        if rule["action"] != "off":
            rows += _broken(scenario, rule, *measured[key])
    if not rows:
        return no_screening()
    table = pd.DataFrame(rows)
    spared = _spared(scenario)
    why = [spared.get(yard, "") for yard in table["yard"]]
    table["reason"] = table["reason"] + pd.Series(why, dtype="str")
    if setting == "warn":
        table["action"] = "warn"
    table.loc[table["yard"].isin(list(spared)), "action"] = "warn"
    order = {yard: j for j, yard in enumerate(scenario.yards["yard"])}
    table = table.sort_values("yard", key=lambda c: c.map(order), kind="stable")
    return table.loc[:, list(COLUMNS)].reset_index(drop=True)


def _laid(scenario: Scenario) -> tuple[Discs, dict[str, Features]]:
    """Lay yards and land on one plane."""
    lon, lat, area = (
        scenario.yards[name].to_numpy(dtype=float) for name in ("lon", "lat", "area_m2")
    )
    plane = Plane(lon, lat)
    return plane.discs(lon, lat, area), ground(scenario, plane)


def _measure(
    scenario: Scenario,
    subject: str,
    outside: bool,
    sites: Discs,
    features: dict[str, Features],
) -> tuple[NDArray[Any], Any]:
    """Measure one subject at every yard: figures, missing ones NaN, and names."""
    yards = scenario.yards
    nothing = np.full(len(yards), "", dtype=object)
    if subject == "slope":
        return yards["slope"].to_numpy(dtype=float) * 100, nothing
    if subject in FIGURES:
        column = {"water_table": "water_table_m", "area": "area_m2"}[subject]
        return yards[column].to_numpy(dtype=float), nothing
    if subject not in features:
        return np.full(len(yards), np.nan), nothing
    if outside:
        return share_inside(features[subject], sites)
    return distance_m(subject, features[subject], sites)


def _needed(scenario: Scenario, rule: Row) -> float:
    """Value of a rule; blank is the smallest yard size, or no share at all."""
    if not math.isnan(rule["value"]):
        return float(rule["value"])
    if rule["subject"] == "area":
        return float(scenario.yard_sizes["site_m2"].min())
    return 0.0


def _broken(
    scenario: Scenario, rule: Row, found: NDArray[Any], names: Any
) -> Iterator[Row]:
    """Rows of the yards that break a rule, one for each feedstock it holds for."""
    needed = _needed(scenario, rule)
    least = rule["comparison"] == "at_least"
    slack = 1e-9 * max(1.0, needed)
    broken = found < needed - slack if least else found > needed + slack
    label = scenario.materials.set_index("material")["name"].to_dict()
    codes = scenario.yards["yard"].tolist()
    for j in np.flatnonzero(broken).tolist():
        words = _reason(rule, float(found[j]), needed, str(names[j]))
        for feedstock in _feedstocks(scenario, rule["feedstock"]):
            about = f"{label.get(feedstock) or feedstock}: " if feedstock else ""
            yield {
                "yard": codes[j],
                "rule": rule["rule"],
                "feedstock": feedstock,
                "subject": rule["subject"],
                "feature": str(names[j]),
                "found": float(found[j]),
                "needed": needed,
                "unit": _unit(rule),
                "action": rule["action"],
                "reason": about + words,
            }


def _feedstocks(scenario: Scenario, word: str) -> list[str]:
    """Materials a rule holds for; one blank for all together."""
    if word != SPOILS:
        return [word]
    used = scenario.materials["material"].isin(scenario.sources["material"])
    return scenario.materials.loc[
        spoils(scenario.materials) & used, "material"
    ].tolist()


def _unit(rule: Row) -> str:
    if rule["comparison"] == "outside":
        return "%"
    return {"slope": "%", "area": "m2"}.get(rule["subject"], "m")


def _reason(rule: Row, found: float, needed: float, feature: str) -> str:
    """
    Say what is wrong in one phrase.

    Examples
    --------
    >>> _reason({"subject": "dwellings", "comparison": "at_least"}, 212.4, 500, "Ulm")
    'dwellings 212 m, needs 500 m (Ulm; site treated as a circle)'
    """
    subject = rule["subject"]
    label = WORDS.get(subject, subject)
    if rule["comparison"] == "outside":
        share = f"{found:.0f}" if found >= 1 else "under 1"
        limit = f"at most {needed:g} %" if needed else "none"
        return f"{share} % of the site is {label}, {limit} allowed{_who(feature, True)}"
    digits = 1 if subject in ("slope", "water_table") else 0
    figure = found * 10**digits
    least = rule["comparison"] == "at_least"
    shown = math.floor(figure + 1e-6) if least else math.ceil(figure - 1e-6)
    most = "" if least else "at most "
    tail = "" if subject in FIGURES else _who(feature, False)
    unit = _unit(rule)
    told = f"{label} {shown / 10**digits:,.{digits}f} {unit}"
    return f"{told}, needs {most}{needed:,.10g} {unit}{tail}"


def _who(feature: str, inside: bool) -> str:
    """Name of the feature, and what the site was taken for."""
    parts = [*([feature] if feature else []), "site treated as a circle"]
    return f" ({'; '.join(parts)})"


def _spared(scenario: Scenario) -> dict[str, str]:
    """Yards that are never refused, and why."""
    yards = scenario.yards
    built, forced = yards["existing_size"] != "", yards["decision"] == "open"
    found = dict.fromkeys(
        yards.loc[forced, "yard"], "; the table opens this yard, so only a warning"
    )
    return found | dict.fromkeys(
        yards.loc[built, "yard"], "; already built, so only a warning"
    )


def refused(screening: pd.DataFrame) -> set[str]:
    """Yards that may not be built at all."""
    wholly = (screening["action"] == "refuse") & (screening["feedstock"] == "")
    return set(screening.loc[wholly, "yard"])


def barred_lanes(screening: pd.DataFrame) -> pd.DataFrame:
    """Pairs yard, feedstock (material code) that may not come together."""
    partly = (screening["action"] == "refuse") & (screening["feedstock"] != "")
    pairs = screening.loc[partly, ["yard", "feedstock"]]
    return pairs.drop_duplicates().reset_index(drop=True)


def barred(scenario: Scenario, screening: pd.DataFrame) -> NDArray[np.bool_]:
    """
    Mark the lanes that the screening closes.

    Returns
    -------
    ndarray
        True where a source may not deliver to a yard, in the order of the tables,
        shape (i, j).
    """
    yards, material = scenario.yards["yard"], scenario.sources["material"]
    closed = np.zeros((len(material), len(yards)), dtype=bool)
    closed[:, yards.isin(list(refused(screening))).to_numpy()] = True
    for yard, feedstock in barred_lanes(screening).itertuples(index=False):
        closed |= np.outer(material == feedstock, yards == yard)
    return closed


def not_screened(scenario: Scenario) -> pd.DataFrame:
    """
    List the rules that could not be asked, for want of data.

    Returns
    -------
    DataFrame
        rule, name, why.
    """
    features = {*with_places(scenario)["kind"]}
    if "land" in features:
        features.add("coast")
    if (scenario.roads["class"] != "ferry").any():
        features.add("road")
    rows = []
    for rule in records(scenario.siting_rules):
        subject, why = rule["subject"], ""
        if subject in ("slope", "water_table"):
            name = {"slope": "slope", "water_table": "water_table_m"}[subject]
            blank = int(scenario.yards[name].isna().sum())
            if blank:
                why = f"{subject} is not given for {blank} of {len(scenario.yards)}"
                why += " yards"
        elif subject not in {*FIGURES, *features}:
            why = "no roads are given" if subject == "road" else "none is drawn in land"
        if why and rule["action"] != "off":
            rows.append((rule["rule"], rule["name"] or rule["rule"], why))
    return pd.DataFrame(rows, columns=["rule", "name", "why"])
