"""The only file that prints.

Messages go to standard error, results to standard output. Control characters in text from files are
written as escapes, so that no file can steer a terminal.
"""

from __future__ import annotations

import json
import sys
import unicodedata
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from preprocess.cli import session
from preprocess.cli.streams import written_to
from preprocess.cli.telling import (
    Line,
    always_lines,
    complaint_data,
    note_count,
    readable_lines,
    stop_lines,
    warning_lines,
)
from preprocess.explained.folded_findings import BACKING, UNSURE
from preprocess.findings import stops

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from preprocess.errors import UserError
    from preprocess.findings import Finding

_STYLES = {
    "stop": "bold red",
    "warn": "yellow",
    "note": "cyan",
    "card": "bold yellow",
    "error": "bold red",
}
_STEERING = {"Cc", "Cf", "Cs", "Zl", "Zp"}
_NARROW = 60
_MOST_WARNINGS = 12
_OUTPUT, _ERROR = "standard output", "standard error"


FIRST_MARK = (
    (
        "before you mark: know the plastic, never PVC or vinyl; extract and filter; "
        "a spare part first;"
    ),
    (
        "eyewear on, enclosure closed; a matt card, never bare metal, under the beam; "
        "stay with the machine"
    ),
)


def escape_controls(text: str) -> str:
    """The text on one line, with control and direction characters written out as escapes."""
    return "".join(_harmless(character) for character in text)


def print_sentence(text: str) -> None:
    """A sentence, on standard error."""
    _line(Text(escape_controls(text)))


def tell_written(path: str, *, as_json: bool = False, quiet: bool = False) -> None:
    """The path of an output; nothing where it was piped."""
    if as_json:
        print_result("wrote", {"path": path})
    elif not quiet and path != "-":
        print_sentence(f"wrote {path}")


def tell_unchanged(path: str, *, as_json: bool = False, quiet: bool = False) -> None:
    """The path of an output that was left alone, since it would not change."""
    if as_json:
        print_result("kept", {"path": path})
    elif not quiet:
        print_sentence(f"{path} is as it was")


def print_findings(
    found: Iterable[Finding], *, as_json: bool = False, quiet: bool = False, verbose: bool = False
) -> None:
    """Findings: stops in full, warnings a line to each kind, notes counted.

    `verbose` prints all in full, wrapped, a line to each place of a long note; `quiet` leaves notes
    out, but not the card under bars; JSON holds each by itself.
    """
    found = tuple(found)
    if as_json:
        for finding in found:
            print_result("finding", asdict(finding))
    elif verbose:
        print_lines(readable_lines(found))
    else:
        print_lines([*stop_lines(found), *warning_lines(found, _MOST_WARNINGS)])
        if quiet and not stops(found):
            print_lines(always_lines(one for one in found if one.code == BACKING))
        if not quiet:
            print_lines(always_lines(found, UNSURE))
            print_lines([Line("", folded)] if (folded := note_count(found)) else [])


def print_lines(lines: Iterable[Line]) -> None:
    """Lines with their labels, on standard error."""
    for line in lines:
        if line.label:
            _labelled(line.label, line.text)
        else:
            print_sentence(line.text)


def print_cautions(*, as_json: bool = False, quiet: bool = False) -> None:
    """Cautions before a first mark, in one line."""
    if not (as_json or quiet):
        for line in FIRST_MARK:
            print_sentence(line)


def print_result(kind: str, data: dict[str, Any]) -> None:
    """One line of JSON: what a command found out; on standard error where output is taken."""
    line = json.dumps({"kind": kind, **data}) + "\n"
    taken = session.is_output_taken()
    with written_to(_ERROR if taken else _OUTPUT):
        (sys.stderr if taken else sys.stdout).write(line)


def print_complaints(error: UserError, *, as_json: bool = False) -> None:
    """Mistakes of the user, one sentence to a line."""
    for complaint in error.complaints:
        if as_json:
            print_result("error", complaint_data(complaint))
        else:
            _labelled("error", str(complaint))


def print_problem(text: str) -> None:
    """A mistake of the user, as a finished sentence."""
    _labelled("error", text)


def print_text(text: str) -> None:
    """Text on standard output, unchanged."""
    with written_to(_OUTPUT):
        sys.stdout.write(text)
        sys.stdout.flush()


def print_bytes(data: bytes) -> None:
    """An output on standard output."""
    with written_to(_OUTPUT):
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()


def print_heading(text: str) -> None:
    """A heading on standard output."""
    _asked_for(Text(escape_controls(text), style="bold"))


def print_paragraph(text: str, *, indent: int = 0) -> None:
    """A paragraph on standard output, wrapped on a terminal."""
    _asked_for(Text(escape_controls(text)), indent=indent)


def print_pairs(rows: Sequence[tuple[str, str]]) -> None:
    """Names with their texts: side by side, or one below the other on a narrow terminal."""
    console = Console(highlight=False)
    widest = max((len(name) for name, _ in rows), default=0)
    if not console.is_terminal:
        print_text(
            "".join(
                f"{escape_controls(name):<{widest}}  {escape_controls(text)}\n"
                for name, text in rows
            )
        )
    elif console.width < _NARROW:
        for name, text in rows:
            print_heading(name)
            print_paragraph(text, indent=2)
    else:
        table = Table.grid(padding=(0, 2))
        table.add_column(no_wrap=True, style="bold")
        table.add_column()
        for name, text in rows:
            table.add_row(Text(escape_controls(name)), Text(escape_controls(text)))
        with written_to(_OUTPUT):
            console.print(table)


def print_table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """A short table on standard output; first column aligned left, the others right.

    On a terminal that is too narrow, each row becomes a block of lines.
    """
    lines = [headings, *rows]
    widths = [
        max(len(escape_controls(line[column])) for line in lines) for column in range(len(headings))
    ]
    console = Console(highlight=False)
    if console.is_terminal and sum(widths) + 2 * (len(widths) - 1) > console.width:
        _blocks(headings, rows)
        return
    for line in lines:
        first, *rest = (escape_controls(cell) for cell in line)
        cells = (f"{cell:>{width}}" for cell, width in zip(rest, widths[1:], strict=True))
        print_text("  ".join((f"{first:<{widths[0]}}", *cells)).rstrip() + "\n")


def _blocks(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    for row in rows:
        print_heading(row[0])
        for name, cell in zip(headings[1:], row[1:], strict=True):
            print_paragraph(f"{name}: {cell}", indent=2)


def _asked_for(text: Text, *, indent: int = 0) -> None:
    """Wrap on a terminal; in a pipe a paragraph stays one line."""
    console = Console(highlight=False)
    if console.is_terminal:
        with written_to(_OUTPUT):
            console.print(Padding(text, (0, 0, 0, indent), expand=False))
    else:
        print_text(" " * indent + text.plain + "\n")


def _harmless(character: str) -> str:
    if character in "\n\t":
        return " "
    if unicodedata.category(character) not in _STEERING:
        return character
    return character.encode("unicode_escape", "surrogatepass").decode("ascii")


def _labelled(label: str, text: str) -> None:
    line = Text(f"{label}: ", style=_STYLES[label])
    line.append(escape_controls(text), style="default not bold")
    _line(line)


def _line(text: Text) -> None:
    with written_to(_ERROR):
        Console(stderr=True, highlight=False).print(text, soft_wrap=True)
