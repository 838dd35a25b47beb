"""``evenmark series``: many designs through one recipe."""

from __future__ import annotations

from collections import Counter
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, List, NamedTuple, Optional

import typer

from preprocess.cli import files, jobs, session, show, waiting
from preprocess.cli.options import (
    YAML,
    Also,
    AsJson,
    Changes,
    NoHeat,
    Quiet,
    RecipeArgument,
    Replace,
    Strict,
    Verbose,
    expect_heat,
    option,
    parse_products,
)
from preprocess.cli.series_summary import summarise, tell_recorded
from preprocess.errors import Exit

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from preprocess.recipe.load import LoadedRecipe
    from preprocess.series.designs import SeriesDesign
    from preprocess.series.log import LogEntry
    from preprocess.series.pools import WorkerPool


class Executor(StrEnum):
    """Place of the work."""

    PROCESSES = "processes"
    DASK = "dask"


def series(
    recipe: RecipeArgument = None,
    designs: Annotated[
        Optional[List[str]],
        typer.Argument(
            metavar="DESIGN...",
            help="drawings, or quoted patterns such as '*.svg'",
            show_default=False,
        ),
    ] = None,
    *,
    folder: Annotated[
        str,
        option("folder of all outputs, made if missing", "--folder", "-d", metavar="FOLDER"),
    ] = "",
    values: Annotated[str, option("table of values (CSV), one label a row", metavar="FILE")] = "",
    tray: Annotated[
        bool, typer.Option("--tray", help="fill the seats of the recipe's tray, plate by plate")
    ] = False,
    workers: Annotated[Optional[int], option("processes; default: all cores", min=1)] = None,
    also: Also = "",
    overlay: Annotated[bool, typer.Option("--overlay", hidden=True)] = False,
    sheet: Annotated[bool, typer.Option("--sheet", hidden=True)] = False,
    report: Annotated[bool, typer.Option("--report", hidden=True)] = False,
    record: Annotated[
        str, option("folder of the record; each design made gets an entry", metavar="FOLDER")
    ] = "",
    changes: Changes = [],  # noqa: B006 - typer wants a list, and nobody changes it
    no_heat: NoHeat = False,
    replace: Replace = False,
    again: Annotated[bool, typer.Option("--again", hidden=True)] = False,
    executor: Annotated[Executor, typer.Option(help="where the work is done")] = Executor.PROCESSES,
    scheduler: Annotated[str, option("scheduler of the Dask cluster", metavar="ADDRESS")] = "",
    strict: Strict = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
    json: AsJson = False,
) -> None:
    """Rewrite many drawings; skip the unchanged ones."""
    from pathlib import Path

    from preprocess.cli.series_record import open_record
    from preprocess.series.designs import find_designs
    from preprocess.series.log import LOG_NAME
    from preprocess.series.runner import Series, count_failures, run_series
    from preprocess.series.tasks import Products

    expect_heat("page" in parse_products(also), no_heat=no_heat)
    pool = _pool(executor, workers, scheduler)
    named = _named(recipe, designs or [], folder)
    loaded = files.load_recipe_alone(named.recipe, changes) if named.recipe else _unnamed()
    loaded = loaded.without_solving() if no_heat else loaded
    there = find_designs(named.designs)
    chosen = _chosen(loaded, values, there, named.recipe, tray=tray)
    if not (named.recipe or quiet or json):
        show.print_sentence("no recipe is named, so one is measured on each drawing")
    wanted = Series(
        loaded=loaded,
        designs=chosen,
        wants=Products(
            **_products(also, overlay=overlay, sheet=sheet, report=report, page=False),
            heat=not no_heat,
            strict=strict,
        ),
        folder=Path(folder),
        again=replace or again,
        measure=None if named.recipe else _measure(changes, no_heat=no_heat),
        record=open_record(record),
    )
    entries, told = [], Counter[str]()
    with waiting.progress_bar(len(wanted.designs), "designs", quiet=quiet or json) as advance:
        for entry in run_series(wanted, pool):
            entries.append(entry)
            _tell(entry, told, as_json=json)
            session.say_if_interrupted(_half_done(len(entries), len(wanted.designs)))
            advance()
    _tell_repeated(told, as_json=json)
    order = {design.title: number for number, design in enumerate(wanted.designs)}
    entries.sort(key=lambda entry: order[entry.design])
    if json:
        tell_recorded(Path(folder), order)
    if not quiet and not json:
        summarise(entries, Path(folder) / LOG_NAME, record, all_of_them=verbose)
    all_failed = count_failures(entries) == len(entries)
    show.print_cautions(as_json=json, quiet=quiet or all_failed)
    if count_failures(entries):
        raise typer.Exit(Exit.USER)


def _products(also: str, **flags: bool) -> dict[str, bool]:
    """Whether each product is wanted, by `--also` or by a flag of its own."""
    named = parse_products(also)
    return {product: wanted or product in named for product, wanted in flags.items()}


def _tell_repeated(told: Counter[str], *, as_json: bool) -> None:
    for problem, times in told.items():
        if times > 1 and not as_json:
            show.print_problem(f"{times - 1} more, for the same reason: {problem}")


class _Named(NamedTuple):
    """Recipe, empty where drawings are measured, and drawings."""

    recipe: str
    designs: list[str]


def _named(recipe: str | None, designs: list[str], folder: str) -> _Named:
    """Recipe and drawings named; a first argument that is a drawing, or a pattern of them, is one.

    Raises:
        BadParameter: no recipe or drawing, or no folder, is named.
    """
    if recipe is None:
        raise typer.BadParameter("name drawings, such as '*.svg', after a recipe if there is one")
    named = _Named(recipe, designs)
    if jobs.is_drawing(recipe):
        named = _Named("", [recipe, *designs])
        recipes = [one for one in designs if one.endswith(YAML)]
        if recipes:
            others = [one for one in named.designs if one not in recipes]
            named = _Named(recipes[0], others)
    if not named.designs:
        raise typer.BadParameter(f"name drawings after {recipe}, such as '*.svg'")
    if not folder:
        raise typer.BadParameter("name a folder for all outputs, such as -d out")
    return named


def _unnamed() -> LoadedRecipe:
    from preprocess.recipe.load import load_recipe

    return load_recipe(None, "recipe: 1\n")


def _measure(changes: Sequence[str], *, no_heat: bool) -> Callable[[Path, bytes], LoadedRecipe]:
    def measured(path: Path, data: bytes) -> LoadedRecipe:
        drawing = files.DrawingFile(data, str(path), path)
        loaded = jobs.measured_job(drawing, changes).loaded
        return loaded.without_solving() if no_heat else loaded

    return measured


def _half_done(count: int, total: int) -> str:
    return f"{count} of {total} designs are done; the same command goes on with the others"


def _chosen(
    loaded: LoadedRecipe,
    values: str,
    there: tuple[SeriesDesign, ...],
    recipe: str,
    *,
    tray: bool,
) -> tuple[SeriesDesign, ...]:
    """The drawings themselves, or with a table of values a label to each row."""
    if values:
        return _labels(loaded, values, there, recipe, tray=tray)
    _expect_no_values(loaded, recipe, tray=tray)
    return there


def _expect_no_values(loaded: LoadedRecipe, recipe: str, *, tray: bool) -> None:
    """Refuse what needs a table of values, where none is named."""
    from preprocess.recipe.text_rules import expect_no_columns

    if tray:
        raise typer.BadParameter("--tray fills seats from a table; name it with --values")
    expect_no_columns(loaded.recipe, recipe)


def _labels(
    loaded: LoadedRecipe, values: str, found: Sequence[SeriesDesign], recipe: str, *, tray: bool
) -> tuple[SeriesDesign, ...]:
    from pathlib import Path

    from preprocess.errors import Place, wrong
    from preprocess.loading.yaml.text_files import read_text
    from preprocess.recipe.text_rules import seats_on_tray
    from preprocess.series.values import label_designs, plate_designs, read_values

    if len(found) != 1:
        raise typer.BadParameter("--values fills in one drawing; name only one")
    table = read_values(read_text(Path(values)), values)
    seats = seats_on_tray(loaded.steps)
    if tray and seats == 1:
        remedy = "add copies and spacing to place, such as copies: [2, 3]"
        raise wrong("the recipe makes no tray", remedy, place=Place(recipe))
    if tray:
        return plate_designs(loaded.recipe, table, found[0].path, seats)
    if seats > 1:
        found_ = f"the recipe makes trays of {seats}, and each row of values is one label"
        remedy = "add --tray to fill the seats with rows, or take copies out"
        raise wrong(found_, remedy, place=Place(recipe))
    return label_designs(loaded.recipe, table, found[0].path)


def _pool(executor: Executor, workers: int | None, scheduler: str) -> WorkerPool:
    import os

    from preprocess.series import pools

    if executor is Executor.DASK:
        if not scheduler:
            raise typer.BadParameter("--executor dask needs --scheduler ADDRESS")
        return pools.dask_pool(scheduler)
    if scheduler:
        raise typer.BadParameter("--scheduler needs --executor dask")
    return pools.process_pool(workers or os.cpu_count() or 1)


def _tell(entry: LogEntry, told: Counter[str], *, as_json: bool) -> None:
    """Print a new reason that stopped a design, as soon as it is known; with JSON every design."""
    from dataclasses import asdict

    if as_json:
        told_now = {key: held for key, held in asdict(entry).items() if key != "recorded"}
        show.print_result("design", told_now)
        return
    for problem in entry.problems:
        told[problem] += 1
        if told[problem] == 1:
            show.print_problem(f"{entry.design}: {problem}")
