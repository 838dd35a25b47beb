"""The legend: a swatch, words and an amount for each entry, in two columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.preview.drawing.canvas import LEADING, TEXT_SIZE, group, paragraph, text
from preprocess.preview.drawing.entries import Section
from preprocess.preview.drawing.page_layout import MARGIN, WIDTH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.preview.drawing.entries import LegendEntry

COLUMN_GAP = 6.0
COLUMN = (WIDTH - 2 * MARGIN - COLUMN_GAP) / 2
SWATCH, HIGH = 8.0, 4.0
LINE, AMOUNT = LEADING * TEXT_SIZE, 17.5
_COLUMNS = ((Section.LAYER,), (Section.CHANGE, Section.PLACE))
_NOTHING = {
    Section.LAYER: "Nothing is marked.",
    Section.CHANGE: "No shape was changed.",
    Section.PLACE: "Not known.",
    Section.MAP: "Nothing.",
}


def legend(
    entries: Sequence[LegendEntry], y: float, columns: Sequence[Sequence[Section]] = _COLUMNS
) -> tuple[list[str], float]:
    """The legend from y downward, by sections in each column, and where it ends."""
    lines, ends = [], []
    for index, sections in enumerate(columns):
        x, here = MARGIN + index * (COLUMN + COLUMN_GAP), y
        for section in sections:
            mine = [entry for entry in entries if entry.section is section]
            drawn, here = _section(section, mine, x, here)
            lines += drawn
        ends.append(here)
    return group("legend", "Legend", lines), max(ends)


def _section(
    section: Section, entries: Sequence[LegendEntry], x: float, y: float
) -> tuple[list[str], float]:
    lines = [text(x, y + TEXT_SIZE, section, size=TEXT_SIZE * 1.1, bold=True)]
    y += LINE + 2.4
    if not entries:
        lines.append(text(x, y + TEXT_SIZE, _NOTHING[section]))
        y += LINE + 1.6
    for entry in entries:
        drawn, y = _row(entry, x, y)
        lines += drawn
    return lines, y + 2.0


def _row(entry: LegendEntry, x: float, y: float) -> tuple[list[str], float]:
    room = COLUMN - SWATCH - 2 - (AMOUNT if entry.amount else 0)
    lines, end = paragraph(x + SWATCH + 2, y, entry.words, room)
    lines += [] if entry.hidden else entry.swatch(x, y, SWATCH, HIGH)
    if entry.amount:
        lines.append(text(x + COLUMN, y + TEXT_SIZE, entry.amount, end=True))
    return lines, max(end, y + HIGH) + 1.6
