"""Kinds of limit, in words: what is short, what one more of it is, what it means."""

from __future__ import annotations

from dataclasses import dataclass

NOUNS = {
    "supply": ("source",),
    "demand": ("group",),
    "trucks": ("truck type",),
    "least_share": ("demand",),
}
"""What is counted where it is not a yard."""


@dataclass(frozen=True)
class LimitKind:
    """
    A kind of limit.

    Attributes
    ----------
    title, unit
        What is short; what one unit more of it is.
    means
        What follows for the reader.
    """

    title: str
    unit: str
    means: str


KINDS = {
    "supply": LimitKind(
        "Too little",
        "one more tonne of it",
        "A new source, or one that leaves less behind, is worth at most this much "
        "for each tonne, before it is paid for.",
    ),
    "pad": LimitKind(
        "Pads are full",
        "one more m³ for windrows",
        "Higher windrows, narrower aisles or fewer days on the pad make room. Where a "
        "larger yard fits the site, the plan weighed it and it did not pay.",
    ),
    "store": LimitKind(
        "Feedstock stores are full",
        "one more m³",
        "A roof or a bay more lets husk and straw wait for the wet feedstock.",
    ),
    "compost_store": LimitKind(
        "Compost stores are full",
        "one more m³",
        "More room to keep compost until planting would pay this much.",
    ),
    "water": LimitKind(
        "Water is short",
        "one more m³",
        "A tank or a pond that carries water into the dry season would pay this much.",
    ),
    "cn_low": LimitKind(
        "Mixes are as rich in nitrogen as allowed",
        "allowing C:N to fall one point",
        "Carbon-rich feedstock is what is scarce. A lower limit saves money but loses "
        "ammonia and smells: try it on one windrow before the limit is moved.",
    ),
    "cn_high": LimitKind(
        "Mixes are as poor in nitrogen as allowed",
        "allowing C:N to rise one point",
        "Nitrogen-rich feedstock is what is scarce. A higher limit saves money but "
        "composts more slowly: try it on one windrow first.",
    ),
    "moist_high": LimitKind(
        "Mixes are as wet as allowed",
        "a mix one point wetter",
        "Wet feedstock is limited by what soaks it up. Wetter mixes lose air and "
        "smell: more dry feedstock is the safer way.",
    ),
    "moist_low": LimitKind(
        "Mixes are as dry as allowed",
        "a mix one point drier",
        "Water costs money, so no more is added than the driest mix allowed needs.",
    ),
    "trucks": LimitKind(
        "Owned trucks are fully used",
        "one more hour of an own truck",
        "At these times hours are hired or dearer trucks are used. Spread the work, "
        "or compare with the yearly cost of one truck more.",
    ),
    "demand": LimitKind(
        "Too few buyers",
        "selling one more tonne",
        "These groups get all they ask for; more buyers here, at these times, would "
        "pay this much for each tonne.",
    ),
    "least_share": LimitKind(
        "Demands of the board that cost money",
        "asking for one tonne less",
        "What the last tonne that each of these demands asks for costs.",
    ),
    "capital": LimitKind(
        "Capital is short",
        "one more unit of capital",
        "Above 1, a grant or a loan would pay for itself within a year.",
    ),
    "budget": LimitKind(
        "The yearly budget is short",
        "one more unit of money a year",
        "What more money in the year would achieve.",
    ),
}
