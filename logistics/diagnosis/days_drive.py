"""Sites so far from any other end that a truck is not back within its driving day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from logistics.diagnosis.finding import Finding, of_row

if TYPE_CHECKING:
    from logistics.roads import Travel
    from logistics.scenario import Scenario

CHECK = "days_drive"


def beyond_a_day(scenario: Scenario, travel: Travel) -> list[Finding]:
    """
    Doubt sources and markets whose nearest yard is beyond a day's drive and back.

    Parameters
    ----------
    scenario, travel
        Tables, and travel between their sites. The limit is rounds.driving_day_h, by
        the fastest truck in the best period.

    Returns
    -------
    list of Finding
        One a site; a site that nobody reaches is told of elsewhere.
    """
    limit = scenario.settings.rounds.driving_day_h
    yards = travel.index("yard", scenario.yards["yard"])
    found: list[Finding] = []
    if not yards.size:
        return found
    for kind in ("source", "market"):
        sites = travel.index(kind, scenario.table(f"{kind}s")[kind])
        best = np.full(len(sites), np.inf)
        for truck in scenario.trucks["truck"]:
            for period in scenario.periods["period"]:
                hours = travel.pick(truck, period).hours
                there, back = hours[np.ix_(sites, yards)], hours[np.ix_(yards, sites)].T
                best = np.minimum(best, (there + back).min(axis=1))
        codes = scenario.table(f"{kind}s")[kind].tolist()
        for place in np.flatnonzero(np.isfinite(best) & (best > limit)):
            why = (
                f"is {best[place]:.1f} h of driving from its nearest yard and back, "
                f"more than rounds.driving_day_h = {limit:g}"
            )
            remedy = "Correct its point, its roads or the speeds"
            said = (codes[place], why, remedy)
            found.append(of_row(CHECK, scenario, f"{kind}s", int(place), kind, said))
    return found
