"""One run of `bring` with a map or rasters: proposed, and written as one set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from maps.bringing.road_lines import ROADS, report_lines, report_table, roads_table
from maps.bringing.sorting import HEADS, HEIGHTS, MAP
from maps.bringing.table_run import change_lines, left_to_do
from maps.disk import write_set
from maps.shared import clean, table_csv

if TYPE_CHECKING:
    from logistics.bringing import Surroundings
    from logistics.ground import GroundImport, GroundRecipe
    from logistics.land import Plane
    from logistics.roads import RoadImport
    from logistics.scenario import Scenario, TableText

REPORT, SITES = "ground_report.csv", "ground_sites.csv"
MOST_SHOWN = 12
"""Tags of no kind of ours that are named."""
LONGEST_CELL = 32_767
"""Letters that a cell of a workbook holds."""
OUT_OF_DATE = (
    "Maps are out of date and have gaps: what is not drawn may still be there. "
    "Local codes and a visit decide."
)
SURFACE = (
    "The raster is taken for a surface model: roofs and trees count as ground, heights "
    "are metres off. It says which sites to look at; measure the slope with a level."
)
ESTIMATE = (
    "A population raster is an estimate: fair for thousands of people, poor for a "
    "single hamlet."
)


class GroundBringing:
    """
    One run of `bring` with a map or rasters.

    Parameters
    ----------
    files, folder
        What is brought, and where to.
    recipe
        File of the recipe, if it is not in the folder.
    answers
        As the option takes them.
    anew
        Whether roads that are there are replaced.
    """

    def __init__(
        self,
        files: Sequence[Path],
        folder: Path,
        recipe: Path | None,
        answers: Sequence[str],
        anew: bool,
    ) -> None:
        from logistics.ground import FILE

        self.files, self.folder, self.anew = list(files), folder, anew
        self.recipe_file = recipe or folder / FILE
        self.answers = list(answers)
        self.tables: dict[str, list[dict[str, str]]] = {}
        self.reports: dict[str, pd.DataFrame] = {}

    def propose(self, scenario: Scenario, meant: str) -> list[str]:
        """Read the files; return what would be brought, line by line."""
        from logistics.bringing import standing_of
        from logistics.ground import plane_of

        self._refuse_examples(standing_of(self.folder))
        self.recipe, plane = self._recipe(), plane_of(scenario)
        makes = {
            MAP: self._map,
            HEIGHTS: self._heights,
            HEADS: self._heads,
        }
        return [clean(line) for line in makes[meant](scenario, plane)]

    def _refuse_examples(self, standing: Surroundings) -> None:
        """Raise if the sites are still those of the starter, which are nowhere."""
        from logistics.scenario import Problem, ScenarioError

        invented = [t for t in ("sources", "yards", "markets") if standing.example(t)]
        if invented:
            why = "has the starter's invented places, so a map of them is of no use"
            remedy = "Bring your own sources, sites and markets first"
            file = standing.texts[invented[0]].label
            raise ScenarioError([Problem(file, None, "", None, why, remedy)])

    def _recipe(self) -> GroundRecipe:
        from logistics.ground import GroundRecipe, read_ground_recipe, with_asked

        kept = GroundRecipe()
        if self.recipe_file.is_file():
            kept = read_ground_recipe(self.recipe_file.read_text(encoding="utf-8"))
        return with_asked(kept, self.answers)

    def _map(self, scenario: Scenario, plane: Plane) -> list[str]:
        from logistics.ground import district_area, import_ground, in_degrees

        made = import_ground(scenario, self.files, self.recipe)
        area = district_area(scenario, self.recipe.margin_km, plane)
        roads, said = self._roads(scenario, in_degrees(area, plane))
        self._keep("land", made.land)
        self._keep("places", made.places)
        self.reports[REPORT] = _report(made)
        self._site_facts(scenario, made, roads, plane)
        return [*map_lines(made, self.recipe), *said, OUT_OF_DATE]

    def _roads(
        self, scenario: Scenario, area: object
    ) -> tuple[RoadImport | None, list[str]]:
        """Roads of the first file that has some in the district."""
        from logistics.ground import road_layer
        from logistics.roads import import_roads
        from logistics.scenario import ScenarioError

        known = scenario.roads["road"].astype(str)
        if not known.str.fullmatch(r"w\d+(_\d+)?").all() and not self.anew:
            many = len(known)
            return None, [f"Roads stay: the table has {many} that no map gave; "
                          "--replace replaces them."]  # fmt: skip
        why = "no file has a layer of roads"
        for path in self.files:
            layer = road_layer(path)
            if layer is None:
                continue
            try:
                made = import_roads(scenario, path, layer=layer, area=area)
            except ScenarioError as error:
                why = error.problems[0].why
                continue
            self._keep("roads", roads_table(made))
            self.reports[ROADS] = report_table(made)
            return made, ["Roads:", *(f"  {line}" for line in report_lines(made))]
        return None, [f"No roads: {why}."]

    def _site_facts(
        self,
        scenario: Scenario,
        made: GroundImport,
        roads: RoadImport | None,
        plane: Plane,
    ) -> None:
        from logistics.ground import site_facts

        table = scenario.roads if roads is None else roads.roads
        found = site_facts(scenario, table, made.places, made.outlines, plane)
        self.reports[SITES] = found.round(
            {"place_km": 2, "road_m": 0, "road_lon": 6, "road_lat": 6}
        )

    def _heights(self, scenario: Scenario, plane: Plane) -> list[str]:
        """Slope of candidates whose cell is blank."""
        from logistics.ground import site_slopes_pct

        yards = scenario.yards[scenario.yards["slope"].isna()]
        columns = (yards[c].to_numpy(dtype=float) for c in ("lon", "lat", "area_m2"))
        lon, lat, area = columns
        slope = np.full(len(yards), np.nan)
        for path in self.files:
            found = site_slopes_pct(path, lon, lat, area)
            slope = np.where(np.isnan(slope), found, slope)
        lines = []
        for code, name, percent in zip(
            yards["yard"], yards["name"], slope, strict=True
        ):
            told = "no height here" if np.isnan(percent) else f"{percent:.1f} %"
            lines.append(f"  {name or code}: slope {told}")
        known = ~np.isnan(slope)
        rows = pd.DataFrame({"yard": yards["yard"][known], "slope_pct": slope[known]})
        if len(rows):
            self._keep("yards", rows.round({"slope_pct": 1}))
        head = f"Slope of {int(known.sum())} of {len(yards)} sites without one:"
        given = len(scenario.yards) - len(yards)
        kept = [f"{given} sites that have a slope keep it."] if given else []
        return [head, *lines, *kept, SURFACE]

    def _heads(self, scenario: Scenario, plane: Plane) -> list[str]:
        """Heads in the district, in squares."""
        from logistics.ground import BLOCK_M, district_area, heads_within

        area = district_area(scenario, self.recipe.margin_km, plane)
        found = pd.concat(
            [heads_within(path, area, plane) for path in self.files], ignore_index=True
        )
        found = found.assign(
            place=[f"heads_{n}" for n in range(1, len(found) + 1)],
            name="",
        )
        if len(found):
            digits = {"lon": 5, "lat": 5, "heads": 1}
            self._keep("people", found.round(digits))
        reach = f"within {self.recipe.margin_km:g} km of the hull of your sites"
        return [
            f"{found['heads'].sum():,.0f} heads {reach}, in {len(found):,} squares of "
            f"{BLOCK_M:g} m.",
            ESTIMATE,
        ]

    def _keep(self, table: str, rows: pd.DataFrame) -> None:
        """Note rows to be written, as texts, with where they come from."""
        from logistics.bringing import ORIGIN
        from logistics.ground import PREFIX
        from logistics.scenario import in_list, keys_of

        if rows.empty:
            return
        files = in_list(path.name for path in self.files)
        if table == "people":
            key = keys_of(table)[0]
            rows = rows.assign(**{key: PREFIX + rows[key]})
        self.tables[table] = [
            {**{str(k): _text(v) for k, v in row.items()}, ORIGIN: files}
            for row in rows.to_dict("records")
        ]

    def keep_recipe(self, meant: str) -> list[str]:
        """Write the recipe of a map, so that it can be edited."""
        from logistics.ground import ground_recipe_text
        from logistics.scenario import replace_file

        if meant != MAP:
            return []
        replace_file(self.recipe_file, ground_recipe_text(self.recipe))
        return [f"The recipe is in {self.recipe_file}."]

    def write(self, meant: str) -> list[str]:
        """Write tables, reports and recipe as one set; return what to say of it."""
        from logistics.bringing import Gathered, merged, standing_of
        from logistics.ground import ground_recipe_text

        standing = standing_of(self.folder)
        texts = dict(standing.texts)
        for table, rows in self.tables.items():
            _refuse_long_cells(texts[table], rows)
            texts[table] = _without_old(table, texts[table])
        standing = replace(standing, texts=texts)
        made = merged(Gathered(self.tables), standing, self.folder.resolve().name)
        files = {self.folder / path.name: data for path, data in made.files.items()}
        for name, report in self.reports.items():
            text = table_csv(report)
            files[self.folder / name] = text.encode("utf-8")
        if meant == MAP:
            files[self.recipe_file] = ground_recipe_text(self.recipe).encode("utf-8")
        write_set(files)
        reports = [f"Written: {self.folder / name}." for name in self.reports]
        return [*change_lines(made), *reports, *left_to_do(self.folder)]


def _refuse_long_cells(text: TableText, rows: Sequence[Mapping[str, str]]) -> None:
    """Raise if a shape is too long for a cell of the workbook that holds the table."""
    from logistics.scenario import Problem, ScenarioError

    longest = max((len(cell) for row in rows for cell in row.values()), default=0)
    if text.path.suffix.lower() == ".xlsx" and longest > LONGEST_CELL:
        why = f"would get a shape of {longest:,} letters; a workbook's cell holds "
        why += f"{LONGEST_CELL:,}"
        remedy = f"Delete the sheet and keep the table in {text.table}.csv"
        raise ScenarioError([Problem(text.label, None, "wkt", None, why, remedy)])


def _without_old(table: str, text: TableText) -> TableText:
    """Take out the rows that an earlier map gave; all roads, where a map gives some."""
    from logistics.ground import PREFIX
    from logistics.scenario import keys_of, plain_name

    names = [plain_name(heading) for heading in text.headings]
    key = keys_of(table)[0]
    if table == "yards" or key not in names:
        return text
    at = names.index(key)
    stay = () if table == "roads" else text.rows
    stay = tuple(row for row in stay if not row[at].startswith(PREFIX))
    return replace(text, rows=stay, stored=())


def _text(value: object) -> str:
    from logistics.scenario import cell_text

    return cell_text(value)


def map_lines(made: GroundImport, recipe: GroundRecipe) -> list[str]:
    """Say what a map holds, what is left out, and what it does not hold."""
    lines = ["In the map, within "
             f"{recipe.margin_km:g} km of the hull of your sites:"]  # fmt: skip
    for row in made.found.to_dict("records"):
        if row["read"]:
            size = _size(row["metres2"], row["metres"])
            rows = f"{row['rows']:,} row{'' if row['rows'] == 1 else 's'}"
            lines.append(f"  {row['words']}: {row['read']:,}{size}; {rows}")
    lines.append(
        f"Outlines are thinned: no distance to them moves by more than "
        f"{recipe.tolerance_m:g} m, that of woods, built-up land and borders by "
        f"{3 * recipe.tolerance_m:g} m. A site within {recipe.tolerance_m:g} m of a "
        "limit has to be measured on the ground."
    )
    left = sorted(made.left.items(), key=lambda pair: -pair[1])
    for what, many in left[:MOST_SHOWN]:
        lines.append(f"  Left out: {many:,} of {what}")
    if len(left) > MOST_SHOWN:
        lines.append(f"  Left out: {len(left) - MOST_SHOWN} more kinds, in {REPORT}")
    return [*lines, *(f"Not asked: {words}." for words in made.lacking)]


def _size(square_metres: float, metres: float) -> str:
    parts = []
    if square_metres >= 1:
        parts.append(f"{square_metres / 1e4:,.0f} ha")
    if metres >= 1:
        parts.append(f"{metres / 1000:,.1f} km")
    return f" ({' and '.join(parts)})" if parts else ""


def _report(made: GroundImport) -> pd.DataFrame:
    """Return what was read, left out and lacking, as one table."""
    found = made.found.assign(what="brought").rename(
        columns={"metres2": "area_m2", "metres": "length_m"}
    )
    left = pd.DataFrame({"what": "left out", "words": list(made.left),
                         "read": list(made.left.values())})  # fmt: skip
    lacking = pd.DataFrame({"what": "not asked", "words": list(made.lacking)})
    parts = [part for part in (found, left, lacking) if len(part)]
    order = ["what", "kind", "words", "read", "rows", "area_m2", "length_m"]
    return pd.concat(parts).reindex(columns=order).round(0)
