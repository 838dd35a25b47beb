"""Path data: from the text of `d` to flat lists of lines and cubic curves.

Source: SVG 2, chapter 9, with the rule of section 9.5.4 that a path is drawn up to its first error.
"""

from __future__ import annotations

import math
import re
from array import array
from dataclasses import dataclass, field
from itertools import accumulate
from typing import TYPE_CHECKING

from preprocess.read.shapes.arcs import arc_cubics
from preprocess.read.xml.lengths import NUMBER

if TYPE_CHECKING:
    from collections.abc import Iterable

_SEPARATOR = r"\s*+,?\s*+"
_COMMANDS = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])")
_RUN = re.compile(rf"\s*+(?:{NUMBER}{_SEPARATOR})*+")
_NUMBERS = re.compile(NUMBER)
_ATOM = rf"(?>{NUMBER})"
_ARC = re.compile(
    rf"\s*+({_ATOM}){_SEPARATOR}({_ATOM}){_SEPARATOR}({_ATOM}){_SEPARATOR}"
    rf"([01]){_SEPARATOR}([01]){_SEPARATOR}({_ATOM}){_SEPARATOR}({_ATOM}){_SEPARATOR}"
)
_TWO = rf"{_ATOM}{_SEPARATOR}{_ATOM}{_SEPARATOR}"
_ABSOLUTE = re.compile(
    rf"\s*+(?:M\s*+{_TWO}(?:L\s*+{_TWO}|C\s*+(?:{_TWO}){{3}})*+(?:[Zz]\s*+)?+)++"
)
"""Path data that says the letter of each segment, and all of it from the origin."""

_UPPER = bytes.maketrans(b"z", b"Z")
_NO_LETTERS = bytes(set(range(128)) - set(b"MLCZz"))
_TAKES = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "q": 4, "t": 2, "a": 7}


@dataclass(slots=True)
class Path:
    """Segments in flat lists: `kinds` holds M, L, C and Z in ASCII; `numbers` their coordinates.

    M and L take two numbers (their end), C takes six, Z none. Every subpath begins with M.
    `inner` are the places in `kinds` of pieces of arcs that end where no vertex was drawn.
    """

    kinds: bytearray = field(default_factory=bytearray)
    numbers: array[float] = field(default_factory=lambda: array("d"))
    inner: list[int] = field(default_factory=list)

    def add(self, kind: bytes, count: int, numbers: Iterable[float]) -> None:
        """Several segments of one kind."""
        self.kinds += kind * count
        self.numbers.extend(numbers)

    def move(self, x: float, y: float) -> None:
        """Begin a subpath."""
        self.kinds += b"M"
        self.numbers.extend((x, y))

    def line(self, x: float, y: float) -> None:
        """A straight line from the current point."""
        self.kinds += b"L"
        self.numbers.extend((x, y))

    def curve(self, *numbers: float) -> None:
        """A cubic curve from the current point: two control points and the end."""
        self.kinds += b"C"
        self.numbers.extend(numbers)

    def close(self) -> None:
        """Close the subpath."""
        self.kinds += b"Z"

    def __bool__(self) -> bool:
        return len(self.kinds) > self.kinds.count(b"M")


@dataclass(slots=True)
class _Pen:
    """Current point while a path is read; `control` belongs to the command `last`."""

    path: Path = field(default_factory=Path)
    x: float = 0.0
    y: float = 0.0
    start: tuple[float, float] = (0.0, 0.0)
    control: tuple[float, float] = (0.0, 0.0)
    last: str = ""

    def draw(self, command: str, values: list[float]) -> None:
        """Draw a command with all its repetitions."""
        low = command.lower()
        if self.last == "z" and low != "m":
            self.path.move(self.x, self.y)
        if command == low:
            _make_absolute(low, values, self.x, self.y)
        _DRAW[low](self, values)
        self.last = low

    def to(self, x: float, y: float) -> None:
        self.x, self.y = x, y

    def mirrored(self, after: str) -> tuple[float, float]:
        """The last control point, mirrored; the current point after any other command."""
        if self.last not in after:
            return self.x, self.y
        return 2 * self.x - self.control[0], 2 * self.y - self.control[1]


def parse_path_data(text: str) -> tuple[Path, int | None]:
    """Read path data.

    Returns:
        What was drawn up to the first error, and the position of the error in the text.
    """
    if (spelt := _spelt_out(text)) is not None:
        return spelt, None
    pen, at = _Pen(), 0
    pieces = _COMMANDS.split(text)
    if pieces[0].strip():
        return pen.path, 0
    at = len(pieces[0])
    for command, run in zip(pieces[1::2], pieces[2::2], strict=True):
        if not pen.last and command not in "Mm":
            return pen.path, at
        stopped = _command(pen, command, run)
        if stopped is not None:
            return pen.path, at + 1 + stopped
        at += 1 + len(run)
    return pen.path, None


def _spelt_out(text: str) -> Path | None:
    """Path data that is stored as it stands; None for any other."""
    if _ABSOLUTE.fullmatch(text) is None:
        return None
    numbers = array("d", map(float, _NUMBERS.findall(text)))
    if not math.isfinite(sum(numbers)):
        return None
    letters = text.encode("ascii", "ignore").translate(_UPPER, _NO_LETTERS)
    return Path(bytearray(letters), numbers)


def _command(pen: _Pen, command: str, run: str) -> int | None:
    """Draw one command with all its repetitions; the position of an error in `run`, if any."""
    low = command.lower()
    if low == "z":
        pen.draw(command, [])
        return None if not run.strip(" \t\r\n\f") else 0
    values, end = _arguments(low, run)
    takes = _TAKES[low]
    whole = _finite(values) // takes * takes
    if whole:
        pen.draw(command, values if whole == len(values) else values[:whole])
    complete = whole == len(values) and whole and end == len(run)
    return None if complete else end


def _arguments(low: str, run: str) -> tuple[list[float], int]:
    """The numbers of a run, and where they end."""
    if low == "a":
        return _arc_arguments(run)
    end = _RUN.match(run).end()  # type: ignore[union-attr]  # matches ""
    return list(map(float, _NUMBERS.findall(run, 0, end))), end


def _finite(values: list[float]) -> int:
    """Number of values before the first infinite one."""
    if math.isfinite(sum(values)):
        return len(values)
    return next((i for i, value in enumerate(values) if not math.isfinite(value)), len(values))


def _arc_arguments(run: str) -> tuple[list[float], int]:
    values: list[float] = []
    end = 0
    while match := _ARC.match(run, end):
        values += map(float, match.groups())
        end = match.end()
    return values, end


def _make_absolute(low: str, values: list[float], x: float, y: float) -> None:
    """Turn the coordinates of a relative command into absolute ones, in place."""
    if low in "mlt":
        values[0::2] = list(accumulate(values[0::2], initial=x))[1:]
        values[1::2] = list(accumulate(values[1::2], initial=y))[1:]
    elif low in "hv":
        values[:] = list(accumulate(values, initial=x if low == "h" else y))[1:]
    elif low in "csqa":
        takes, skipped = _TAKES[low], 5 if low == "a" else 0
        for begin in range(0, len(values), takes):
            for i in range(begin + skipped, begin + takes, 2):
                values[i], values[i + 1] = values[i] + x, values[i + 1] + y
            x, y = values[begin + takes - 2], values[begin + takes - 1]


def _move(pen: _Pen, values: list[float]) -> None:
    pen.to(values[0], values[1])
    pen.start = (pen.x, pen.y)
    pen.path.move(pen.x, pen.y)
    if len(values) > 2:  # noqa: PLR2004 - what follows a moveto are lines
        _line(pen, values[2:])


def _line(pen: _Pen, values: list[float]) -> None:
    pen.path.add(b"L", len(values) // 2, values)
    pen.to(values[-2], values[-1])


def _across(pen: _Pen, values: list[float]) -> None:
    for value in values:
        pen.x = value
        pen.path.line(pen.x, pen.y)


def _down(pen: _Pen, values: list[float]) -> None:
    for value in values:
        pen.y = value
        pen.path.line(pen.x, pen.y)


def _cubic(pen: _Pen, values: list[float]) -> None:
    pen.path.add(b"C", len(values) // 6, values)
    pen.control = (values[-4], values[-3])
    pen.to(values[-2], values[-1])


def _smooth(pen: _Pen, values: list[float]) -> None:
    for i in range(0, len(values), 4):
        first = pen.mirrored("cs")
        c, d, x, y = values[i : i + 4]
        pen.path.curve(*first, c, d, x, y)
        pen.control = (c, d)
        pen.to(x, y)
        pen.last = "s"


def _quadratic(pen: _Pen, values: list[float]) -> None:
    for i in range(0, len(values), 4):
        a, b, x, y = values[i : i + 4]
        _raised(pen, (a, b), (x, y))


def _smooth_quadratic(pen: _Pen, values: list[float]) -> None:
    for i in range(0, len(values), 2):
        _raised(pen, pen.mirrored("qt"), (values[i], values[i + 1]))
        pen.last = "t"


def _raised(pen: _Pen, control: tuple[float, float], end: tuple[float, float]) -> None:
    """A quadratic curve as the cubic that it equals."""
    (qx, qy), (x, y) = control, end
    pen.path.curve(
        pen.x + 2 / 3 * (qx - pen.x),
        pen.y + 2 / 3 * (qy - pen.y),
        x + 2 / 3 * (qx - x),
        y + 2 / 3 * (qy - y),
        x,
        y,
    )
    pen.control = control
    pen.to(x, y)


def _arc(pen: _Pen, values: list[float]) -> None:
    for i in range(0, len(values), 7):
        rx, ry, angle, large, sweep, x, y = values[i : i + 7]
        curves = arc_cubics((pen.x, pen.y), (rx, ry), angle, (bool(large), bool(sweep)), (x, y))
        if curves is None:
            pen.path.line(x, y)
        else:
            first = len(pen.path.kinds)
            for curve in curves:
                pen.path.curve(*curve)
            pen.path.inner.extend(range(first, len(pen.path.kinds) - 1))
        pen.to(x, y)


def _close(pen: _Pen, _: list[float]) -> None:
    pen.path.close()
    pen.to(*pen.start)


_DRAW = {
    "m": _move,
    "l": _line,
    "h": _across,
    "v": _down,
    "c": _cubic,
    "s": _smooth,
    "q": _quadratic,
    "t": _smooth_quadratic,
    "a": _arc,
    "z": _close,
}
