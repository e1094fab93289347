"""What an hour of a hired truck costs, with its call and the least time paid for."""

from __future__ import annotations

from logistics.scenario import RowLike

OUT_SHARE = 0.4
"""
Share of a working day that a hired truck is out when it is called.

Measured in rounds of both demos (28 to 52 % by type and month); no source.
"""


def hire_rate(truck: RowLike, day_h: float) -> float:
    """
    Price of a hired hour on top of the running cost, whole calls spread on hours.

    Parameters
    ----------
    truck
        A row of the table trucks.
    day_h
        Working day of a truck. [h]

    Returns
    -------
    float
        Linear in hours, so that a programme can count it; for a call of the mean
        length it is what rounds pay. [money/h]

    Examples
    --------
    A call of 3.2 of 8 hours at 10 an hour, 16 for the call; then 4 hours paid at least:

    >>> truck = {"hire_cost_per_hour": 10, "hire_call_cost": 16, "hire_least_hours": 1}
    >>> hire_rate(truck, 8)
    15.0
    >>> hire_rate(truck | {"hire_least_hours": 4}, 8)
    17.5
    """
    out = OUT_SHARE * day_h
    paid = max(out, float(truck["hire_least_hours"]))
    money = float(truck["hire_cost_per_hour"]) * paid + float(truck["hire_call_cost"])
    return money / out
