"""
Time and memory of bringing a CSV file of many rows into a new district.

    python tests/benchmarks/bench_bring.py [rows, else 200000]

Mills on a lattice 440 m wide, with amounts such as `1,234.5 t`, districts, telephones
and remarks. From the file to the bytes of tables and recipe: CPU seconds, greatest
memory.
"""

import resource
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from logistics.bringing import merged, propose, recipe_text, standing_of
from logistics.scenario import new_scenario

HEAD = "Mill name;Longitude;Latitude;Rice husk (t);District;Today;Phone;Remarks\n"


def write(file, rows):
    amounts = np.random.default_rng(1).integers(1, 4000, rows)
    wide = int(rows**0.5) + 1
    with file.open("w", encoding="utf-8") as lines:
        lines.write(HEAD)
        for i, amount in enumerate(amounts.tolist()):
            lon, lat = 30 + i % wide * 0.004, -10 + i // wide * 0.004
            place = f"Mill {i};{lon:.5f};{lat:.5f}"
            lines.write(
                f"{place};{amount:,}.5 t;District {i % 40};burned;07{i:08d};ok\n"
            )


def main(rows):
    with tempfile.TemporaryDirectory() as place:
        folder, file = Path(place) / "district", Path(place) / "mills.csv"
        new_scenario(folder, "csv")
        write(file, rows)
        began = time.process_time()
        there = standing_of(folder)
        made = propose([file], there, (), ["mills.csv:values.season=even"])
        assert not made.questions
        assert not made.faults
        merged(made.gathered, there, "large")
        recipe_text(made.recipes)
        seconds = time.process_time() - began
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{rows:,} rows: {seconds:.1f} s of CPU, at most {peak:,.0f} MB")  # noqa: T201


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200_000)
