"""A district whose money is written in a currency of little value."""

import shutil
from pathlib import Path

import pandas as pd
from support.places import SMALL

from logistics.scenario.currency import is_money
from logistics.scenario.schema import columns_of, settings_columns


def low_value(folder: Path, times: float, source: Path = SMALL) -> Path:
    """Copy a scenario with all its money multiplied; diesel gets its price written."""
    shutil.copytree(source, folder)
    for path in sorted(folder.glob("*.csv")):
        table = pd.read_csv(path, dtype="str", keep_default_na=False)
        for column in columns_of(path.stem):
            if is_money(column) and column.name in table:
                cells = [str(float(c) * times) if c else "" for c in table[column.name]]
                table[column.name] = cells
        table.to_csv(path, index=False)
    settings = folder / "scenario.toml"
    lines, group, priced = [], "", False
    for line in settings.read_text(encoding="utf-8").splitlines():
        name, _, value = line.partition(" = ")
        group = name.strip("[]") if name.startswith("[") else group
        column = settings_columns().get(f"{group}.{name}")
        if column is not None and is_money(column):
            line = f"{name} = {float(value) * times!r}"
            priced |= name == "fuel_price_per_l"
        lines.append(line)
    if not priced:
        lines += ["", "[finance]", f"fuel_price_per_l = {times!r}"]
    settings.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder
