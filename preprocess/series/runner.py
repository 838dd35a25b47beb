"""Run a series: skip unchanged designs, make the rest, write outputs and log."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.errors import Complaint, UserError
from preprocess.read.xml.drawing_bytes import expect_text, read_drawing_bytes
from preprocess.recipe.text_rules import recipe_for_label
from preprocess.series.designs import expect_labels
from preprocess.series.keys import key_of_design, key_of_recipe
from preprocess.series.log import (
    DONE,
    FAILED,
    LOG_NAME,
    UNCHANGED,
    LogEntry,
    add_to_log,
    outputs_stand,
    read_log,
    write_log,
)
from preprocess.series.tasks import DesignTask, Products, TaskResult, run_task
from preprocess.write.atomic import replace_files
from preprocess.write.digest import sha256_hex
from preprocess.write.targets import (
    check_target,
    refuse_inputs_in,
    unwritable_as_error,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from preprocess.recipe.load import LoadedRecipe
    from preprocess.series.designs import SeriesDesign
    from preprocess.series.pools import WorkerPool
    from preprocess.series.recording import Record

_ENDINGS = ("laser.svg", "overlay.svg", "sheet.html", "report.json", "playback.html")


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """Designs, the recipe they go through, what is wanted of each, and the folder for it.

    `measure` makes the recipe of each drawing, from its path and bytes, where none is named.
    `record` is where each design that is made gets an entry.
    """

    loaded: LoadedRecipe
    designs: tuple[SeriesDesign, ...]
    wants: Products
    folder: Path
    again: bool = False
    measure: Callable[[Path, bytes], LoadedRecipe] | None = None
    record: Record | None = None


def run_series(series: Series, pool: WorkerPool) -> Iterator[LogEntry]:
    """Make a series; yields what became of each design as soon as it is known.

    Outputs and log appear whole or not at all, whenever it is stopped, and what was finished by
    then is not made again.

    Raises:
        UserError: the folder cannot be made or written to, or no design could succeed.
    """
    _prepare(series)
    known: dict[int, LogEntry] = {}
    to_record: dict[int, object] = {}
    logged = read_log(series.folder)
    try:
        yield from _entries(series, pool, {} if series.again else logged, (known, to_record))
    finally:
        if series.record is not None:
            for number, name in series.record.write(to_record).items():
                known[number] = replace(known[number], recorded=name)
        write_log(series.folder, _merged(series, logged, known))


def _merged(
    series: Series, logged: dict[str, LogEntry], known: dict[int, LogEntry]
) -> Iterator[LogEntry]:
    """The log after this run: its designs in their order, then those of other series."""
    for number, design in enumerate(series.designs):
        entry = known.get(number) or logged.get(design.title)
        if entry is not None:
            yield entry
    ours = {design.title for design in series.designs}
    yield from (entry for title, entry in logged.items() if title not in ours)


def _entries(
    series: Series,
    pool: WorkerPool,
    old: dict[str, LogEntry],
    into: tuple[dict[int, LogEntry], dict[int, object]],
) -> Iterator[LogEntry]:
    known, to_record = into
    shared = key_of_recipe(series.loaded, series.wants, _files(series.loaded))
    keys: dict[int, str] = {}
    settled: list[LogEntry] = []

    def tasks() -> Iterator[tuple[int, DesignTask]]:
        for number, design in enumerate(series.designs):
            entry = _settled(series, number, old, shared, keys)
            if isinstance(entry, LogEntry):
                known[number] = entry
                settled.append(entry)
            else:
                yield number, _task(series, design, *entry)

    for number, made in pool(tasks()):
        while settled:
            yield settled.pop(0)
        known[number] = _written(series, series.designs[number], keys[number], made)
        if made.entry is not None:
            to_record[number] = made.entry
        add_to_log(series.folder, known[number])
        if made.problems and not any(entry.status != FAILED for entry in known.values()):
            _expect_own_fault(series, series.designs[number], made)
        yield known[number]
    yield from settled


def _prepare(series: Series) -> None:
    """Tell faults of all designs once, before any work; then make the folder."""
    if series.designs and series.designs[0].row is not None:
        expect_labels(series.loaded, series.designs[0])
    with unwritable_as_error(series.folder):
        series.folder.mkdir(parents=True, exist_ok=True)
        check_target(series.folder / LOG_NAME)
        refuse_inputs_in(
            series.folder,
            (f"{design.name}.{ending}" for design in series.designs for ending in _ENDINGS),
            [*series.loaded.read_files, *(design.path for design in series.designs)],
        )


def _expect_own_fault(series: Series, design: SeriesDesign, made: TaskResult) -> None:
    """Expect that a label is stopped by its texts, and not by the rest of the drawing.

    Raises:
        UserError: the drawing with its texts left empty is stopped by the same.
    """
    if design.row is None or made.bug:
        return
    texts = design.seats[0].texts if design.seats else design.texts
    empty = replace(design, texts=tuple(replace(one, text="") for one in texts))
    wants = Products(heat=False, strict=series.wants.strict)
    bare = replace(series, wants=wants, record=None)
    data = read_drawing_bytes(design.path, series.loaded.options.limits.file)
    without = run_task(_task(bare, empty, data, series.loaded))
    if set(made.problems) <= set(without.problems):
        raise UserError(
            Complaint(f"no label can be made, whatever its texts: {problem}")
            for problem in made.problems
        )


def _settled(
    series: Series, number: int, old: dict[str, LogEntry], shared: str, keys: dict[int, str]
) -> LogEntry | tuple[bytes, LoadedRecipe]:
    """The entry of a design that is done or cannot be read; otherwise its bytes and recipe."""
    design = series.designs[number]
    name = design.title
    try:
        data = read_drawing_bytes(design.path, series.loaded.options.limits.file)
        expect_text(design.path)
        loaded = series.loaded
        if series.measure is not None:
            loaded = series.measure(design.path, data)
            shared = key_of_recipe(loaded, series.wants, ())
    except UserError as error:
        problems = tuple(map(str, error.complaints))
        return LogEntry(design=name, status=FAILED, key="", problems=problems)
    keys[number] = key_of_design(shared, data, design)
    before = old.get(name)
    if before is not None and before.key == keys[number] and _stands(series, before):
        return replace(before, status=UNCHANGED)
    return data, loaded


def _stands(series: Series, before: LogEntry) -> bool:
    """Test whether nothing is left to make: outputs and, where one is wanted, entry lie there."""
    recorded = series.record is None or series.record.holds(before.recorded)
    return recorded and outputs_stand(before, series.folder)


def _task(series: Series, design: SeriesDesign, data: bytes, loaded: LoadedRecipe) -> DesignTask:
    return DesignTask(
        loaded=_in_row(loaded, design),
        data=data,
        path=str(design.path),
        title=design.title,
        name=design.name,
        wants=series.wants,
        recorder=series.record.recorder(data) if series.record else None,
    )


def _in_row(loaded: LoadedRecipe, design: SeriesDesign) -> LoadedRecipe:
    """The recipe as it holds for one label: its texts say what stands in the row."""
    if design.row is None:
        return loaded
    if design.seats:
        options = replace(loaded.options, texts=design.seats[0].texts)
        return replace(loaded, options=options, seats=design.seats)
    options = replace(loaded.options, texts=design.texts)
    return replace(loaded, options=options, as_run=recipe_for_label(loaded.as_run, design.texts))


def _written(series: Series, design: SeriesDesign, key: str, made: TaskResult) -> LogEntry:
    """Write the outputs of one design; old ones stay where it failed."""
    names = {f"{design.name}.{ending}": data for ending, data in made.outputs.items()}
    replace_files((series.folder / name, data) for name, data in names.items())
    return LogEntry(
        design=design.title,
        status=FAILED if made.failed else DONE,
        key=key,
        outputs={name: sha256_hex(data) for name, data in names.items()},
        figures=made.figures,
        problems=made.problems,
        findings=made.findings,
        bug=made.bug,
    )


def _files(loaded: LoadedRecipe) -> list[tuple[str, bytes]]:
    return [(path.name, path.read_bytes()) for path in loaded.read_files if path.is_file()]


def count_failures(entries: Sequence[LogEntry]) -> int:
    """Number of failed designs."""
    return sum(entry.status == FAILED for entry in entries)
