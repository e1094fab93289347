"""
Write the tables of the demo districts.

Run `python scenarios/make_demo.py` after a change here; the tables beside it are
what it wrote. Without a change it writes the same bytes again.
"""

from pathlib import Path

import make_brackwater
import make_highlake
from drawing import write_files

HERE = Path(__file__).parent
DEMOS = {"brackwater": make_brackwater.files, "highlake": make_highlake.files}


def main(folder: Path = HERE) -> None:
    """Write every demo district into its own folder."""
    for name, files in DEMOS.items():
        write_files(folder / name, files())


if __name__ == "__main__":
    main()
