"""Summary of a series: a table of its designs, their number, and where log and record lie."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.cli import show

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from pathlib import Path

    from preprocess.series.log import LogEntry

_FEW = 20
"""Designs that are listed one by one; of more, those that failed or were warned of."""


def summarise(entries: Sequence[LogEntry], log: Path, record: str, *, all_of_them: bool) -> None:
    """Print the designs, all or those worth a line, and where log and record lie."""
    _print_designs(entries if all_of_them else _worth_a_line(entries))
    where = f"log: {log}; record: {record}" if record else f"log: {log}"
    show.print_sentence(f"{_counts(entries)}; {where}")


def tell_recorded(folder: Path, designs: Collection[str]) -> None:
    """Print as JSON which entry of the record belongs to each design; none without a record."""
    from preprocess.series.log import read_log

    for title, entry in read_log(folder).items():
        if entry.recorded and title in designs:
            show.print_result("recorded", {"design": title, "entry": entry.recorded})


def _worth_a_line(entries: Sequence[LogEntry]) -> Sequence[LogEntry]:
    """All of a few designs; of many the first that failed or were warned of."""
    if len(entries) <= _FEW:
        return entries
    from preprocess.series.log import FAILED

    noted = (e for e in entries if e.status == FAILED or _warnings(e))
    return [entry for entry, _ in zip(noted, range(_FEW), strict=False)]


def _warnings(entry: LogEntry) -> int:
    return sum(finding.get("severity") == "warn" for finding in entry.findings)


def _print_designs(entries: Sequence[LogEntry]) -> None:
    if not entries:
        return
    show.print_table(
        ("design", "result", "layers", "time", "worst place", "coldest", "warnings"), _rows(entries)
    )


def _rows(entries: Sequence[LogEntry]) -> list[tuple[str, ...]]:
    return [
        (
            entry.design,
            entry.status,
            str(entry.figures.get("layers", "-")),
            _seconds(entry.figures.get("time_s")),
            _place(entry.figures.get("hottest_place")),
            _place(entry.figures.get("coldest_place")),
            str(_warnings(entry)),
        )
        for entry in entries
    ]


def _place(ratio: float | None) -> str:
    from preprocess.marking.evenness.sentence import signed_percent

    return "-" if ratio is None else signed_percent(ratio)


def _seconds(time: float | None) -> str:
    return "-" if time is None else f"{time:.0f} s"


def _counts(entries: Sequence[LogEntry]) -> str:
    from preprocess.series.log import DONE, FAILED, UNCHANGED

    states = [entry.status for entry in entries]
    return ", ".join(f"{states.count(state)} {state}" for state in (DONE, UNCHANGED, FAILED))
