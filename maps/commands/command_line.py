"""
The command ``loamhaul``.

Heavy libraries are imported inside the commands, so that help comes at once. Exit
codes: 0 done, 1 the input has faults, 2 wrong usage, 3 no plan can meet the demands
or nothing can be composted, 4 stopped early with the best plan written.
"""

from __future__ import annotations

import signal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from maps.commands.choices import STATUS_EXIT, Exit, Goal, Kind
from maps.commands.common import (
    Changes,
    Folder,
    Out,
    Seconds,
    apply,
    changes,
    fail,
    faults_listed,
    out_of,
    read,
    stoppable,
)
from maps.commands.manual_command import manual
from maps.commands.rounds_command import rounds
from maps.commands.shares_command import shares
from maps.commands.sheets_command import sheets
from maps.commands.stress_command import list_changes, stress
from maps.commands.studies_commands import frontier, robust

if TYPE_CHECKING:
    from logistics.model import Instance
    from logistics.roads import Travel
    from logistics.scenario import Scenario

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Plan the composting yards and the haulage of a district.",
)


def _version(wanted: bool) -> None:
    """Print the version and stop."""
    if wanted:
        from importlib.metadata import PackageNotFoundError, version

        try:
            typer.echo(f"loamhaul {version('loamhaul')}")
        except PackageNotFoundError:
            typer.echo("loamhaul (not installed)")
        raise typer.Exit(Exit.DONE)


@app.callback()
def _top(
    version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_version, is_eager=True, help="Show the version."
        ),
    ] = False,
) -> None:
    """Plan the composting yards and the haulage of a district."""


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to make.")],
    kind: Annotated[
        Kind, typer.Option("--format", help="CSV files or one XLSX workbook.")
    ] = Kind.CSV,
) -> None:
    """Make a folder of starter tables with notes, ready to be filled in."""
    from logistics.scenario import ScenarioError, new_scenario

    try:
        made = new_scenario(folder, kind.value)
    except ScenarioError as error:
        raise fail(str(error), Exit.USAGE) from None
    except OSError as error:
        message = f"{folder} cannot be made: {error}."
        raise fail(message, Exit.USAGE) from None
    typer.echo(f"Made in {folder}: {', '.join(file.name for file in made)}.")
    typer.echo("The notes explain every column. Put your rows in place of the")
    typer.echo(f"example's, then: loamhaul check {folder}")


@app.command()
def check(folder: Folder) -> None:
    """Check a scenario: every fault with its remedy, then warnings."""
    scenario = read(folder)
    travel, instance = _prepare(scenario)
    from logistics.diagnosis import nothing_possible
    from maps.commands.check_page import check_lines

    typer.echo(f"{folder}: no faults.")
    for line in check_lines(scenario, travel, instance):
        typer.echo(line)
    if why := nothing_possible(scenario, instance):
        raise fail("\n".join(why), Exit.SHORTAGE)


def _prepare(scenario: Scenario) -> tuple[Travel, Instance]:
    """Go as far as planning does before it solves; list the faults found there."""
    from logistics.land import screen
    from logistics.model import assemble

    with faults_listed():
        made = _ways(scenario)
        instance, _, _ = assemble(scenario, made, screen(scenario))
    return made, instance


def _ways(scenario: Scenario) -> Travel:
    """Find travel; sites that must take part and that nobody reaches are faults."""
    from logistics.roads import travel
    from logistics.scenario import ScenarioError
    from maps.commands.check_page import faults

    made = travel(scenario)
    if found := faults(scenario, made):
        raise ScenarioError(found)
    return made


@app.command()
def roads(
    file: Annotated[Path, typer.Argument(help=".osm.pbf .osm .gpkg .geojson .shp")],
    folder: Folder,
    tolerance: Annotated[
        float, typer.Option(min=0, max=200, help="Gaps up to this are joined [m].")
    ] = 10.0,
    layer: Annotated[str | None, typer.Option(help="Layer of the file.")] = None,
    tracks: Annotated[bool, typer.Option("--tracks", help="Also tracks.")] = False,
    replace: Annotated[
        bool, typer.Option("--replace", help="Replace the roads that are there.")
    ] = False,
) -> None:
    """Bring roads of OpenStreetMap or a GIS into a scenario, mended, with a report."""
    scenario = read(folder)
    from maps.commands.roads_page import bring_roads

    with faults_listed():
        lines = bring_roads(scenario, file, tolerance, layer, tracks, replace)
    typer.echo("\n".join(lines))


@app.command()
@stoppable
def sites(
    folder: Folder,
    count: Annotated[int, typer.Option("--count", min=1, help="Most proposals.")] = 6,
    spacing: Annotated[
        float, typer.Option("--spacing", min=0.05, help="Mesh of the grid [km].")
    ] = 1.0,
) -> None:
    """Propose candidate yards where feedstock is near and no siting rule is broken."""
    scenario = read(folder)
    from logistics.land import GridError
    from maps.commands.sites_page import propose_into

    try:
        with faults_listed():
            propose_into(scenario, scenario.path or folder, count, spacing)
    except (GridError, OSError) as error:
        message = f"Nothing was proposed: {error}."
        raise fail(message, Exit.USAGE) from None


@app.command()
@stoppable
def plan(
    folder: Folder,
    out: Out = None,
    seconds: Seconds = None,
    gap: Annotated[
        float | None,
        typer.Option(
            "--gap", min=0, max=50, help="Proven gap at which solving stops [%]."
        ),
    ] = None,
    goal: Annotated[
        Goal | None, typer.Option("--goal", help="What the plan makes least.")
    ] = None,
    change: Changes = None,
    coarsen: Annotated[
        bool,
        typer.Option(
            "--coarsen", help="Merge near sources and markets: for a whole country."
        ),
    ] = False,
    edge: Annotated[
        float | None,
        typer.Option(
            "--edge", min=0, help="With --coarsen: edge of the hexagons [km]."
        ),
    ] = None,
) -> None:
    """Plan a scenario; write summary, map, workbook, geodata and tables."""
    out = out_of(folder, out)
    from maps.commands.overrides import with_settings

    scenario = with_settings(read(folder), seconds, gap, goal)
    for wanted in changes(folder, change) if change else []:
        scenario = apply(scenario, wanted)
    from logistics.model import NoPlanError
    from logistics.results import run
    from maps.commands.progress_line import progress
    from maps.outputs import check_out, write_outputs
    from maps.tables import reach_line, show

    try:
        check_out(out)
    except OSError as error:
        raise fail(str(error), Exit.USAGE) from None
    try:
        with progress() as report, faults_listed():
            if coarsen:
                from logistics.studies import plan_coarse

                result, how = plan_coarse(scenario, report, edge)
                ways, note = result.travel, how.words()
            else:
                ways, note = _ways(scenario), ""
                result = run(scenario, progress=report, ways=ways)
    except NoPlanError as error:
        message = f"Nothing was written: {error}."
        raise fail(message, Exit.STOPPED) from None
    try:
        write_outputs(result, out)
    except OSError as error:
        message = f"The outputs in {out} are as they were: {error}"
        raise fail(message, Exit.USAGE) from None
    show(result)
    if note:
        typer.echo(note)
    elif line := reach_line(scenario, ways):
        typer.echo(line)
    typer.echo(f"Written to {out}: open map.html or plan.xlsx.")
    possible = not result.summary.get("nothing_possible")
    raise typer.Exit(STATUS_EXIT[result.plan.status] if possible else Exit.SHORTAGE)


@app.command()
@stoppable
def compare(
    folder: Folder,
    change: Changes = None,
    out: Out = None,
    seconds: Seconds = None,
    page: Annotated[
        bool, typer.Option("--map", help="Also compare.html: two maps side by side.")
    ] = False,
) -> None:
    """Plan a scenario under changes, side by side; by default all of DIR/changes."""
    out = out_of(folder, out)
    from maps.commands.overrides import with_settings

    scenario = with_settings(read(folder), seconds, None, None)
    wanted = changes(folder, change)
    if not wanted:
        message = f"There are no changes in {folder}/changes. Give --change."
        raise fail(message, Exit.USAGE)
    for one in wanted:
        apply(scenario, one)
    from logistics.model import NoPlanError
    from logistics.results import run
    from logistics.studies import compare as answer
    from maps.commands.progress_line import progress
    from maps.studies import show_comparison, write_comparison

    try:
        with progress() as report:
            base = run(scenario, progress=report)
            told = None if report is None else (lambda _, state: report(state))
            outcomes = answer(scenario, base, wanted, told)
    except NoPlanError as error:
        message = f"Nothing was written: {error}."
        raise fail(message, Exit.STOPPED) from None
    written = write_comparison(base, outcomes, out, page)
    show_comparison(base, outcomes)
    typer.echo(f"Written to {out}: {', '.join(written)}.")


app.command()(frontier)
app.command()(robust)


app.command()(stress)
app.command("changes")(list_changes)
app.command()(shares)
app.command()(rounds)
app.command()(sheets)
app.command()(manual)


def main() -> None:
    """Run the command line; a reader that hangs up (`| head`) ends it quietly."""
    if hasattr(signal, "SIGPIPE"):
        signal.signal(signal.SIGPIPE, signal.SIG_DFL)
    app(prog_name="loamhaul")
