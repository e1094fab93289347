"""The parts of an instance: sources, yards, markets, trucks and lanes as numbers."""

from dataclasses import dataclass, fields

import numpy as np

from logistics.model.problem.arrays import Flags, Floats, Integers, lock


def _by_period(year: Floats, like: Floats, change: Floats | None) -> Floats:
    """Prices of the year in every period, and what a period's differ from them."""
    found = np.broadcast_to(year[:, None], like.shape)
    return found if change is None else found + change


@dataclass(frozen=True, eq=False)
class Supply:
    """
    Sources, length i.

    Attributes
    ----------
    codes, districts
        Code and administrative area.
    feedstock
        Index of the source's feedstock.
    tonnes
        What arises, shape (i, t). [t]
    money_per_t
        Price paid less the subsidy, in the year; fees move money inside the district
        and are not in it. [money/t]
    left_money_per_t, left_co2e_per_t
        Present disposal of what is not collected. [money/t], [kg CO2e/t]
    must_collect
        True where nothing may be left.
    hold_t
        Most that may wait at the source between periods. [t]
    price_change
        What a period's price is above the year's, shape (i, t); None where all periods
        have one. [money/t]
    """

    codes: tuple[str, ...]
    districts: tuple[str, ...]
    feedstock: Integers
    tonnes: Floats
    money_per_t: Floats
    left_money_per_t: Floats
    left_co2e_per_t: Floats
    must_collect: Flags
    hold_t: Floats
    price_change: Floats | None = None

    def __post_init__(self) -> None:
        """Lock the arrays."""
        lock(self)

    @property
    def prices(self) -> Floats:
        """Price paid in every period, shape (i, t). [money/t]"""
        return _by_period(self.money_per_t, self.tonnes, self.price_change)


@dataclass(frozen=True, eq=False)
class Options:
    """
    Pairs of a yard and a size it may have, length o.

    Attributes
    ----------
    yard, size
        Index of the yard; code of the size.
    annual
        Works and machines as annuity, land rent and fixed running cost. [money/yr]
    capital
        Money to be found before the yard opens. [money]
    pad_m3, store_m3, compost_store_m3
        Room for active windrows, feedstock and compost. [m3]
    handling_per_t
        Mixing, turning and screening. [money/t]
    """

    yard: Integers
    size: tuple[str, ...]
    annual: Floats
    capital: Floats
    pad_m3: Floats
    store_m3: Floats
    compost_store_m3: Floats
    handling_per_t: Floats

    def __post_init__(self) -> None:
        """Lock the arrays."""
        lock(self)


@dataclass(frozen=True, eq=False)
class Yards:
    """
    Yards and candidates, length j.

    Attributes
    ----------
    codes
        Code of the yard.
    decision
        "free", "open" or "closed".
    water_t
        Water that can be drawn, shape (j, t). [t]
    water_per_t
        Price of water. [money/t]
    """

    codes: tuple[str, ...]
    decision: tuple[str, ...]
    water_t: Floats
    water_per_t: Floats

    def __post_init__(self) -> None:
        """Lock the arrays."""
        lock(self)


@dataclass(frozen=True, eq=False)
class Markets:
    """
    Markets, length n.

    Attributes
    ----------
    codes
        Code of the market.
    demand
        Most it takes, shape (n, t). [t]
    price_per_t
        Price of compost delivered, in the year. [money/t]
    price_change
        What a period's price is above the year's, shape (n, t); None where all periods
        have one. [money/t]
    """

    codes: tuple[str, ...]
    demand: Floats
    price_per_t: Floats
    price_change: Floats | None = None

    def __post_init__(self) -> None:
        """Lock the arrays."""
        lock(self)

    @property
    def prices(self) -> Floats:
        """Price of compost in every period, shape (n, t). [money/t]"""
        return _by_period(self.price_per_t, self.demand, self.price_change)


@dataclass(frozen=True, eq=False)
class Trucks:
    """
    Truck types, length v.

    Attributes
    ----------
    codes
        Code of the type.
    owned_hours, hire_hours
        Hours at hand and hours that can be hired, shape (v, t). [h]
    hire_per_hour
        Paid for a hired hour on top of the running cost. [money/h]
    fixed_annual
        Fixed cost of the trucks owned, all together. [money/yr]
    own
        Trucks owned, length v, each at home at one yard; None pools their hours.
    homes
        Own trucks at home at every yard, shape (v, j), where that is held; None lets
        the plan choose.
    """

    codes: tuple[str, ...]
    owned_hours: Floats
    hire_hours: Floats
    hire_per_hour: Floats
    fixed_annual: float
    own: Integers | None = None
    homes: Integers | None = None

    def __post_init__(self) -> None:
        """Lock the arrays."""
        lock(self)

    @property
    def hours_of_one(self) -> Floats:
        """Hours that one own truck works, shape (v, t); 0 where none are owned. [h]"""
        if self.own is None:
            return np.zeros_like(self.owned_hours)
        return np.divide(self.owned_hours, np.maximum(self.own, 1)[:, None])


@dataclass(frozen=True, eq=False)
class Lanes:
    """
    Lanes by truck type, length l: from a source to a yard or a yard to a market.

    Attributes
    ----------
    site
        Index of the source (inbound) or of the market (outbound).
    yard, truck
        Index of the yard and of the truck type.
    load_t
        What a trip carries, shape (l, t). [t]
    money, hours, co2e
        Haulage per tonne, shape (l, t). [money/t], [h/t], [kg CO2e/t]
    usable
        Whether a truck can drive it in time, shape (l, t).
    km
        One-way distance, shape (l, t). [km]
    """

    site: Integers
    yard: Integers
    truck: Integers
    load_t: Floats
    money: Floats
    hours: Floats
    co2e: Floats
    usable: Flags
    km: Floats

    def __post_init__(self) -> None:
        """Lock the arrays."""
        lock(self)

    def __len__(self) -> int:
        """Count the lanes."""
        return len(self.site)

    def take(self, keep: Flags | Integers) -> "Lanes":
        """Return the lanes chosen by a mask or by positions."""
        return Lanes(*(getattr(self, f.name)[keep] for f in fields(self)))


@dataclass(frozen=True, eq=False)
class Backhauls:
    """
    Trips that may be paired, length p: waste in from a source, compost out to a market.

    The truck goes on from the market to the source without coming back to the yard.
    Lanes are named by their places, so that lanes may be left out of an instance.

    Attributes
    ----------
    source, yard, market, truck
        Indices.
    money, hours, co2e, km
        Saved by a paired trip against two trips that come back empty, shape (p, t).
        [money], [h], [kg CO2e], [km]
    usable
        Whether the backhaul is offered, shape (p, t).
    """

    source: Integers
    yard: Integers
    market: Integers
    truck: Integers
    money: Floats
    hours: Floats
    co2e: Floats
    km: Floats
    usable: Flags

    def __post_init__(self) -> None:
        """Lock the arrays."""
        lock(self)

    def __len__(self) -> int:
        """Count the backhauls."""
        return len(self.source)

    def take(self, keep: Flags | Integers) -> "Backhauls":
        """Return the backhauls chosen by a mask or by positions."""
        return Backhauls(*(getattr(self, f.name)[keep] for f in fields(self)))
