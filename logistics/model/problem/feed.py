"""Feedstocks as numbers, and how far they may be off them."""

from dataclasses import dataclass

from logistics.model.problem.arrays import Flags, Floats, Integers, lock


@dataclass(frozen=True, eq=False)
class Feed:
    """
    Feedstocks, length m.

    Attributes
    ----------
    codes, materials
        Code of the feedstock and of the material it is counted as.
    moisture
        Share of the wet mass. [t/t]
    carbon, nitrogen, p2o5, k2o
        Share of the dry mass; carbon is what the window of C:N counts: all of it, or
        what microbes can use. [t/t]
    salt
        Share of the wet mass. [t/t]
    loose_t_m3
        Density as heaped. [t/m3]
    dry_matter_loss
        Share of the dry mass lost while composting. [t/t]
    structure
        True where it keeps a windrow open.
    store_periods
        How many periods back from t what waits at the end of t may have come,
        shape (m, t); 0 where it must be used at once.
    keep
        Share that is left after one period in store, shape (m, t). [t/t]
    pad_m3_per_t
        Mean pad volume that a wet tonne takes while active. [m3/t]
    product_per_t
        Finished compost made of a wet tonne. [t/t]
    nitrogen_kept
        Nitrogen that a wet tonne leaves in the compost, shape (2, m): a mix keeps the
        smaller of the two sums; see `composting.nitrogen_bounds`. [t/t]
    """

    codes: tuple[str, ...]
    materials: tuple[str, ...]
    moisture: Floats
    carbon: Floats
    nitrogen: Floats
    p2o5: Floats
    k2o: Floats
    salt: Floats
    loose_t_m3: Floats
    dry_matter_loss: Floats
    structure: Flags
    store_periods: Integers
    keep: Floats
    pad_m3_per_t: Floats
    product_per_t: Floats
    nitrogen_kept: Floats

    def __post_init__(self) -> None:
        """Lock the arrays."""
        lock(self)

    @property
    def dry(self) -> Floats:
        """Dry share of the wet mass. [t/t]"""
        return 1 - self.moisture

    @property
    def kept(self) -> dict[str, Floats]:
        """Give what compost keeps of a wet tonne at most, by substance. [t/t]"""
        return {
            "n": self.nitrogen_kept[0],
            "p2o5": self.dry * self.p2o5,
            "k2o": self.dry * self.k2o,
            "salt": self.salt,
        }


@dataclass(frozen=True, eq=False)
class Margin:
    """
    How far each feedstock may be off its values, either way, length m.

    A mix keeps its windows whatever the feedstocks are within these ranges, all of them
    at their worst at once: Soyster, Operations Research 21(5), 1973, 1154-1157. Nothing
    is added to the programme for it: the worst of a feedstock depends on no other. A
    budget of how many may be at their worst together (Bertsimas and Sim, Operations
    Research 52(1), 2004, 35-53) would let some draws fall outside, and hardly helps in
    mixes of three or four feedstocks of which one holds most of the nitrogen.

    Attributes
    ----------
    moisture
        Of the wet mass. [t/t]
    carbon, nitrogen
        Of the dry mass; carbon as the window counts it. [t/t]
    """

    moisture: Floats
    carbon: Floats
    nitrogen: Floats

    def __post_init__(self) -> None:
        """Lock the arrays."""
        lock(self)
