"""``evenmark log``: what was marked before, and how it came out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from preprocess.cli import files, show
from preprocess.cli.options import AsJson, Quiet, expect_day, option

if TYPE_CHECKING:
    from preprocess.record.entry import Outcome, RecordEntry


def log(
    entry: Annotated[
        Optional[str],
        typer.Argument(
            metavar="[ENTRY]",
            help="number of an entry, or last; without it all are listed",
            show_default=False,
        ),
    ] = None,
    *,
    record: Annotated[str, typer.Option(help="folder that run --record names")] = "record",
    note: Annotated[str, option("what you saw")] = "",
    grade: Annotated[str, option("even, weak, heavy or molten")] = "",
    on: Annotated[str, option("day of marking, such as 2026-11-29")] = "",
    part: Annotated[str, option("list entries of such a part")] = "",
    filament: Annotated[str, option("list entries of such a filament")] = "",
    design: Annotated[str, option("list entries of such a drawing")] = "",
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Find what was marked before, or add how it came out.

    `run --record FOLDER` adds an entry for each file that it writes. After marking, say how it came
    out: evenmark log last --grade even --note "tips clean". Entries are text files; keep them in
    version control beside your drawings.
    """
    from preprocess.record.folder import chosen, matching, read_entries

    outcome = _outcome(note, grade, on)
    folder = Path(record)
    known = read_entries(folder)
    if entry is None:
        if outcome is not None:
            raise typer.BadParameter("say which entry, such as last", param_hint="ENTRY")
        found = matching(known, part=part, filament=filament, design=design)
        _list([one for _, one in found], as_json=json)
        return
    path, one = chosen(known, entry, folder)
    if outcome is None:
        if json:
            show.print_result("entry", _data(one))
        else:
            show.print_bytes(path.read_bytes())
        return
    from preprocess.record.folder import with_outcome

    files.check_outputs([str(path)], [])
    files.write_outputs([(str(path), with_outcome(path, one, outcome))], as_json=json, quiet=quiet)


def _outcome(note: str, grade: str, on: str) -> Outcome | None:
    from preprocess.coupon.design.model import Grade
    from preprocess.record.entry import Outcome

    if grade and grade not in list(Grade):
        words = ", ".join(Grade)
        raise typer.BadParameter(f"{grade!r} is none of {words}", param_hint="--grade")
    expect_day(on, "--on", such_as="2026-11-29")
    said = " ".join(note.split())
    if not grade and not said:
        if on:
            raise typer.BadParameter("add a grade or a note", param_hint="--on")
        return None
    return Outcome(on=on or None, grade=Grade(grade) if grade else None, note=said or None)


def _list(found: list[RecordEntry], *, as_json: bool) -> None:
    if as_json:
        for one in found:
            show.print_result("entry", _data(one))
        return
    if not found:
        show.print_sentence("no such entry in the record")
        return
    show.print_table(
        ("entry", "design", "filament", "part", "came out"), [_row(one) for one in found]
    )


def _row(one: RecordEntry) -> tuple[str, ...]:
    words = [_came_out(line) for line in one.marked]
    return (
        str(one.number),
        one.design,
        one.filament or "-",
        one.part or "-",
        "; ".join(words) or "not told",
    )


def _came_out(line: Outcome) -> str:
    after = f"measured, next {line.next_recipe}" if line.next_recipe else None
    return " ".join(filter(None, (line.on, line.grade, line.note, after)))


def _data(one: RecordEntry) -> dict[str, object]:
    from preprocess.loading.schema.plain_data import plain_data

    return plain_data(one)
