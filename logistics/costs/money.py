"""
Money per unit: a unit of capital, a trip, a yard in one size.

Arguments may be numbers or numpy arrays of shapes that fit each other. A row is
anything that gives a column's value for its name: a table row or a mapping.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from logistics.scenario import RowLike

Floats = NDArray[np.float64]


def annuity_factor(discount: ArrayLike, years: ArrayLike) -> Floats:
    """
    Yearly payment that pays back one unit of capital with interest.

    Parameters
    ----------
    discount
        Discount rate as a share; 0 spreads the capital evenly. [1/yr]
    years
        Life, above 0. [yr]

    Returns
    -------
    ndarray
        Capital recovery factor. [1/yr]

    Notes
    -----
    Standard annuity, i (1 + i)^n / ((1 + i)^n - 1), payments at the year's end.

    Examples
    --------
    >>> annuity_factor(0.10, 8).round(5)
    np.float64(0.18744)
    """
    rate, life = np.broadcast_arrays(
        np.asarray(discount, dtype=float), np.asarray(years, dtype=float)
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        factor = rate / -np.expm1(-life * np.log1p(rate))
    return np.asarray(np.where(rate < NO_INTEREST, 1 / life, factor))[()]


def truck_load_t(
    payload_t: ArrayLike, body_m3: ArrayLike, hauled_t_m3: ArrayLike
) -> Floats:
    """
    Load of a full truck: the smaller of what it may weigh and what fits in.

    Parameters
    ----------
    payload_t, body_m3
        Limits of the truck. [t], [m3]
    hauled_t_m3
        Density of the freight as loaded. [t/m3]

    Returns
    -------
    ndarray
        Load. [t]

    Examples
    --------
    Husk fills a body of 30 m3 long before it weighs 10 t:

    >>> truck_load_t(10, 30, 0.1)
    np.float64(3.0)
    """
    volume_limit = np.multiply(body_m3, hauled_t_m3)
    return np.asarray(np.minimum(payload_t, volume_limit), dtype=float)[()]


def trip_hours(
    km_out: ArrayLike,
    km_back: ArrayLike,
    hours_out: ArrayLike,
    hours_back: ArrayLike,
    load_minutes: ArrayLike,
    unload_minutes: ArrayLike,
    wash_minutes: ArrayLike = 0.0,
) -> Floats:
    """
    Truck hours of one trip there and back.

    Parameters
    ----------
    km_out, km_back
        Lengths of the legs; used only to see that km and hours belong together. [km]
    hours_out, hours_back
        Driving time of the legs; infinite where no road leads. [h]
    load_minutes, unload_minutes, wash_minutes
        Time at the two ends, and for washing out where it is due. [min]

    Returns
    -------
    ndarray
        Hours from start to start. [h]

    Examples
    --------
    >>> trip_hours(20, 20, 2 / 3, 2 / 3, 40, 20, 0).round(4)
    np.float64(2.3333)
    """
    km, hours = np.add(km_out, km_back), np.add(hours_out, hours_back)
    if np.any(np.isfinite(km) != np.isfinite(hours)):
        message = "km and hours come from different road states: one is infinite alone"
        raise ValueError(message)
    minutes = np.add(np.add(load_minutes, unload_minutes), wash_minutes)
    return np.asarray(hours + minutes / 60, dtype=float)[()]


NO_INTEREST = 1e-12
"""Below this a rate is rounding noise and would only spoil the division. [1/yr]"""


@dataclass(frozen=True, eq=False)
class TripCost:
    """
    Cost of one trip, line by line.

    Attributes
    ----------
    fuel_l
        Diesel. [L]
    fuel, repair, crew, fare
        Lines of money; repair includes tyres, crew is paid for every truck hour,
        fare is tolls and ferries. [money]
    """

    fuel_l: Floats
    fuel: Floats
    repair: Floats
    crew: Floats
    fare: Floats

    @property
    def total(self) -> Floats:
        """Sum of the lines [money]."""
        return self.fuel + self.repair + self.crew + self.fare


def trip_cost(
    truck: RowLike,
    km_out: ArrayLike,
    km_back: ArrayLike,
    hours: ArrayLike,
    fares: ArrayLike,
    fuel_price: float,
) -> TripCost:
    """
    Cost of running one trip, loaded out and empty back.

    Parameters
    ----------
    truck
        RowLike of the table trucks.
    km_out, km_back
        Loaded and empty leg. [km]
    hours
        Truck hours of the trip, see `trip_hours`. [h]
    fares
        Tolls and ferries of both legs. [money]
    fuel_price
        Diesel. [money/L]

    Returns
    -------
    TripCost
        The lines. Fixed cost of owned trucks and hire are not part of a trip.
    """
    loaded, empty = np.asarray(km_out, dtype=float), np.asarray(km_back, dtype=float)
    litres = (
        loaded * truck["fuel_l_per_km_loaded"] + empty * truck["fuel_l_per_km_empty"]
    )
    return TripCost(
        fuel_l=litres,
        fuel=litres * fuel_price,
        repair=(loaded + empty) * truck["repair_cost_per_km"],
        crew=np.asarray(hours, dtype=float) * truck["crew_cost_per_hour"],
        fare=np.asarray(fares, dtype=float),
    )


@dataclass(frozen=True)
class OptionCost:
    """
    Yearly cost of a yard in one size, and what is bought for it.

    Attributes
    ----------
    works_annuity, machine_annuity, land_rent, fixed
        Lines of the year. [money/yr]
    works, machines
        Bought before the yard opens. [money]
    renewed
        Machines that stand already: nothing is paid for them until their life is
        over, then this. [money]
    """

    works_annuity: float
    machine_annuity: float
    land_rent: float
    fixed: float
    works: float
    machines: float
    renewed: float

    @property
    def total(self) -> float:
        """Sum of the yearly lines [money/yr]."""
        return self.works_annuity + self.machine_annuity + self.land_rent + self.fixed

    @property
    def capital(self) -> float:
        """Money to be found before the yard opens. [money]"""
        return self.works + self.machines


def option_annual_cost(
    yard: RowLike, size: RowLike, discount: float, existing_size: RowLike | None = None
) -> OptionCost:
    """
    Cost of running a yard in a size.

    An existing yard buys only the difference between the works and machines of the
    new size and of its own, never less than nothing. Works that stand are paid for and
    bear no cost. Machines wear out wherever they stand, so the year bears those of the
    whole size. Rent and fixed cost are those of the new size.

    Parameters
    ----------
    yard
        RowLike of the table yards: works_factor, land_rent_per_m2_year.
    size, existing_size
        Rows of the table yard_sizes; None for a candidate.
    discount
        Discount rate as a share. [1/yr]

    Returns
    -------
    OptionCost
        Lines of the year, and what is bought.
    """
    built_works = 0.0 if existing_size is None else existing_size["works_cost"]
    built_machines = 0.0 if existing_size is None else existing_size["machine_cost"]
    works = max(0.0, size["works_cost"] - built_works) * yard["works_factor"]
    machines = max(0.0, size["machine_cost"] - built_machines)
    factors = annuity_factor(
        discount, [size["works_life_years"], size["machine_life_years"]]
    )
    return OptionCost(
        works_annuity=float(works * factors[0]),
        machine_annuity=float(size["machine_cost"] * factors[1]),
        land_rent=float(yard["land_rent_per_m2_year"] * size["site_m2"]),
        fixed=float(size["fixed_cost_per_year"]),
        works=float(works),
        machines=float(machines),
        renewed=float(size["machine_cost"] - machines),
    )
