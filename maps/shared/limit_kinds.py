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
        "one more tonne",
        "A new source, or less left behind at an old one, is worth at most this much "
        "per tonne, before you pay for the feedstock.",
    ),
    "pad": LimitKind(
        "Pads are full",
        "one more m³ for windrows",
        "Higher windrows, narrower aisles or fewer days on the pad make room. Where a "
        "larger yard fits the site, the plan considered it and it did not pay.",
    ),
    "store": LimitKind(
        "Feedstock stores are full",
        "one more m³",
        "Another roof or bay lets husk and straw wait for the wet feedstock.",
    ),
    "compost_store": LimitKind(
        "Compost stores are full",
        "one more m³",
        "More room to keep compost until planting would save this much.",
    ),
    "water": LimitKind(
        "Water is short",
        "one more m³",
        "A tank or pond that keeps water for the dry season would save this much.",
    ),
    "cn_low": LimitKind(
        "Mixes are as rich in nitrogen as allowed",
        "allowing C:N to fall one point",
        "Carbon-rich feedstock is scarce. A lower limit saves money, but mixes lose "
        "ammonia and smell: try it on one windrow before you move the limit.",
    ),
    "cn_high": LimitKind(
        "Mixes are as poor in nitrogen as allowed",
        "allowing C:N to rise one point",
        "Nitrogen-rich feedstock is scarce. A higher limit saves money, but composting "
        "is slower: try it on one windrow first.",
    ),
    "moist_high": LimitKind(
        "Mixes are as wet as allowed",
        "a mix one point wetter",
        "There is too little dry feedstock to soak up the wet. Wetter mixes lose air "
        "and smell: more dry feedstock is safer.",
    ),
    "moist_low": LimitKind(
        "Mixes are as dry as allowed",
        "a mix one point drier",
        "Water costs money, so the plan adds only what the driest mix allowed needs.",
    ),
    "trucks": LimitKind(
        "Owned trucks are fully used",
        "one more hour of an own truck",
        "At these times trucks are hired or dearer ones are used. Spread the work, or "
        "compare with the yearly cost of one more truck.",
    ),
    "demand": LimitKind(
        "Too few buyers",
        "selling one more tonne",
        "These groups get all they ask for; more buyers here, at these times, would "
        "save this much per tonne.",
    ),
    "least_share": LimitKind(
        "Demands of the board that cost money",
        "asking for one tonne less",
        "This is what the last tonne of each demand costs.",
    ),
    "capital": LimitKind(
        "Capital is short",
        "one more unit of capital",
        "Above 1, a grant or a loan would pay for itself within a year.",
    ),
    "budget": LimitKind(
        "The yearly budget is short",
        "one more unit of money a year",
        "This is what more money in the year would achieve.",
    ),
}
