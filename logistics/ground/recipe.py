"""How maps are brought in: a small file that can be edited, kept and used again."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from logistics.ground.around import MARGIN_KM
from logistics.ground.tag_kinds import DRAWN, RULED
from logistics.scenario import Problem, ScenarioError, in_list

FILE = "ground.toml"
TOLERANCE_M = 10.0
"""How far thinning may move a distance unless told otherwise. [m]"""
LIMITS = {"margin_km": (0.0, 200.0), "tolerance_m": (0.0, 100.0)}
KINDS = (*RULED, *DRAWN, "")
HEAD = """\
# How maps are brought in. Edit it and bring the map again.
# margin_km: around the hull of sources, candidates and markets.
# tolerance_m: how far thinning may move a distance that a siting rule asks for.
# [tags] and [layers]: what a tag or a layer is; "" leaves it out. One of:
# {kinds}
"""


@dataclass(frozen=True)
class GroundRecipe:
    """
    How maps are brought in.

    Attributes
    ----------
    margin_km
        Around the hull of all sites. [km]
    tolerance_m
        How far thinning may move a distance. [m]
    tags
        "key=value" -> kind; before the kinds of kinds.csv.
    layers
        Layer of a GIS file -> kind.
    """

    margin_km: float = MARGIN_KM
    tolerance_m: float = TOLERANCE_M
    tags: Mapping[str, str] = field(default_factory=dict)
    layers: Mapping[str, str] = field(default_factory=dict)


def read_ground_recipe(text: str) -> GroundRecipe:
    """
    Read a recipe.

    Raises
    ------
    ScenarioError
        If it is no TOML, names a kind that there is not, or a number is out of range.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _faults(
            [("", None, f"is not valid TOML ({error})", "Correct it")]
        ) from None
    faults = []
    for key in data:
        if key not in {*LIMITS, "tags", "layers"}:
            faults.append((key, data[key], "is no key of a recipe", "Delete the line"))
    numbers = {}
    for key, (low, high) in LIMITS.items():
        value = data.get(key, getattr(GroundRecipe, key))
        if isinstance(value, bool) or not isinstance(value, int | float) or not (
            low <= value <= high
        ):  # fmt: skip
            remedy = f"Write a number from {low:g} to {high:g}"
            faults.append((key, value, "is out of range", remedy))
            continue
        numbers[key] = float(value)
    kinds: dict[str, dict[str, str]] = {"tags": {}, "layers": {}}
    for part, found in kinds.items():
        given = data.get(part, {})
        for name, kind in given.items() if isinstance(given, dict) else ():
            if kind in KINDS:
                found[name] = str(kind)
                continue
            remedy = f'Write one of {in_list(KINDS[:-1])}, or "" to leave it out'
            faults.append((f"{part}.{name}", kind, "is no kind of ours", remedy))
    if faults:
        raise _faults(faults)
    return GroundRecipe(**numbers, **kinds)  # type: ignore[arg-type]


def _faults(found: list[tuple[str, object, str, str]]) -> ScenarioError:
    return ScenarioError(
        [
            Problem(FILE, None, key, value, why, remedy)
            for key, value, why, remedy in found
        ]
    )


def ground_recipe_text(recipe: GroundRecipe) -> str:
    """
    Write a recipe.

    Examples
    --------
    >>> text = ground_recipe_text(GroundRecipe(layers={"Skolor": "school"}))
    >>> read_ground_recipe(text) == GroundRecipe(layers={"Skolor": "school"})
    True
    """
    lines = [HEAD.format(kinds=in_list(KINDS[:-1]))]
    lines += [f"margin_km = {recipe.margin_km:g}",
              f"tolerance_m = {recipe.tolerance_m:g}"]  # fmt: skip
    for part in ("tags", "layers"):
        lines += ["", f"[{part}]"]
        lines += [
            f"{json.dumps(name, ensure_ascii=False)} = {json.dumps(kind)}"
            for name, kind in getattr(recipe, part).items()
        ]
    return "\n".join(lines) + "\n"


def with_asked(recipe: GroundRecipe, answers: list[str]) -> GroundRecipe:
    """
    Put answers of the command line into a recipe.

    Parameters
    ----------
    answers
        As "LAYER:kind=school", or "waterway=ditch:kind=river" for a tag.

    Raises
    ------
    ScenarioError
        If an answer is of another form, or its kind is none of ours.

    Examples
    --------
    >>> with_asked(GroundRecipe(), ["waterway=ditch:kind=river"]).tags
    {'waterway=ditch': 'river'}
    """
    parts: dict[str, dict[str, str]] = {
        "tags": dict(recipe.tags), "layers": dict(recipe.layers)
    }  # fmt: skip
    for answer in answers:
        name, mark, kind = answer.rpartition(":kind=")
        if not mark or not name or kind not in KINDS:
            remedy = f"Write LAYER:kind= and one of {in_list(KINDS[:-1])}"
            raise _faults([("--answer", answer, "answers nothing", remedy)])
        parts["tags" if "=" in name else "layers"][name] = kind
    return replace(recipe, **parts)  # type: ignore[arg-type]
