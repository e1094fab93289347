"""Faults in codes: used twice, or unknown to the table they refer to."""

from __future__ import annotations

from logistics.scenario.faults import Problem, choose_from, nearest, nearest_material
from logistics.scenario.library_materials import (
    TABLE as MATERIALS,
)
from logistics.scenario.library_materials import material_remedy, structure_of
from logistics.scenario.schema import Column, columns_of, keys_of, settings_columns
from logistics.scenario.settings_file import FILE as SETTINGS_FILE
from logistics.scenario.table_set import Tables

OTHER_WORDS = {"carries": {"all", "compost"}, "feedstock": {"spoils"}}


def check_keys(tables: Tables) -> list[Problem]:
    """Find codes, or pairs of codes, that stand twice in their table."""
    problems = []
    for table, cells in tables.cells.items():
        keys = keys_of(table)
        if not keys:
            continue
        seen: dict[tuple[str, ...], int] = {}
        lines = list(zip(*(cells.frame[key].tolist() for key in keys), strict=True))
        for position in cells.good(*keys):
            first = seen.setdefault(lines[position], position)
            if first != position:
                value = " ".join(lines[position])
                why = f"is already in row {cells.rows[first]}"
                remedy = "Give each row its own code, or delete one of the two"
                if len(keys) > 1:
                    remedy = f"Give each {' and '.join(keys)} one row; delete the other"
                key = keys[-1]
                problems.append(cells.problem(position, key, why, remedy, value))
    return problems


def check_references(tables: Tables) -> list[Problem]:
    """Find codes that the table they refer to does not have."""
    problems = []
    for table, cells in tables.cells.items():
        for column in columns_of(table):
            known = tables.codes(column.refers_to) if column.refers_to else None
            if not known:
                continue
            extra = OTHER_WORDS.get(column.name, set())
            allowed = set(known) | extra
            values = cells.frame[column.name].tolist()
            for position in cells.good(column.name):
                value = values[position]
                words = _words(value)
                for word in words:
                    if word not in allowed:
                        why = f"is not a code in the table {column.refers_to}"
                        remedy = _remedy(tables, column, word, known, sorted(extra))
                        problems.append(
                            cells.problem(position, column.name, why, remedy, word)
                        )
    return problems


def check_setting_codes(tables: Tables) -> list[Problem]:
    """Find codes in settings that the table they refer to does not have."""
    problems = []
    for name, column in settings_columns().items():
        known = tables.codes(column.refers_to) if column.refers_to else None
        for word in _words(tables.settings.get(name)):
            if known and word not in known:
                why = f"is not a code in the table {column.refers_to}"
                remedy = _remedy(tables, column, word, known, [])
                place = (SETTINGS_FILE, tables.line(name), name, word)
                problems.append(Problem(*place, why, remedy))
    return problems


def _words(value: object) -> tuple[str, ...]:
    """Return the codes in a cell: of a list all, of a blank none."""
    if isinstance(value, tuple):
        return value
    return (str(value),) if value else ()


def _remedy(
    tables: Tables, column: Column, word: str, known: list[str], extra: list[str]
) -> str:
    """Return what to write in place of an unknown code."""
    if column.refers_to != MATERIALS:
        return choose_from(word, [*known, *extra])
    kinds = structure_of(tables.cells.get(MATERIALS))
    if column.table != "sources":  # sources alone may name what has no row
        kinds = {code: kinds[code] for code in known}
        return material_remedy(word, kinds, extra)
    like = nearest_material(word, kinds)
    if like:
        return f"Write {like!r} if you meant that"
    return material_remedy(word, {code: kinds[code] for code in known})


def check_district_names(tables: Tables) -> list[Problem]:
    """Find named districts that are of no place, and look like one without a name."""
    named = tables.cells.get("districts")
    if named is None:
        return []
    codes = named.frame["district"].tolist()
    places = [tables.cells.get(name) for name in ("sources", "yards", "markets")]
    lists = [cells.frame["district"].tolist() for cells in places if cells]
    used = {code for of_table in lists for code in of_table if code}
    problems = []
    for position in named.good("district"):
        code = codes[position]
        like = nearest(code, sorted(used - set(codes)), cutoff=0.8)
        if like and code not in used:
            why = "is not the district of any source, yard or market"
            remedy = f"Write {like!r} if you meant that, or delete the row"
            problems.append(named.problem(position, "district", why, remedy, code))
    return problems


def check_districts(tables: Tables) -> list[Problem]:
    """Find policy rows for districts in which no source lies."""
    policy, sources = tables.cells.get("policy"), tables.cells.get("sources")
    if policy is None or sources is None:
        return []
    known = sorted({code for code in sources.frame["district"].tolist() if code})
    problems = []
    codes = policy.frame["district"].tolist()
    for position in policy.good("district"):
        code = codes[position]
        if code and code not in known:
            why, remedy = "is not the district of any source", choose_from(code, known)
            problems.append(policy.problem(position, "district", why, remedy, code))
    return problems
