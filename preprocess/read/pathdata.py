"""Path data: from the text of `d` to flat lists of lines and cubic curves.

Source: SVG 2, chapter 9, with the rule of section 9.5.4 that a path is drawn up to its first error.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field

from preprocess.read.arcs import arc_curves
from preprocess.read.lengths import NUMBER

_SEPARATOR = r"\s*+,?\s*+"
_COMMANDS = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])")
_RUN = re.compile(rf"\s*+(?:{NUMBER}{_SEPARATOR})*+")
_NUMBERS = re.compile(NUMBER)
_ARC = re.compile(
    rf"\s*({NUMBER}){_SEPARATOR}({NUMBER}){_SEPARATOR}({NUMBER}){_SEPARATOR}"
    rf"([01]){_SEPARATOR}([01]){_SEPARATOR}({NUMBER}){_SEPARATOR}({NUMBER}){_SEPARATOR}"
)
_TAKES = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "q": 4, "t": 2, "a": 7}


@dataclass(slots=True)
class Path:
    """Segments in flat lists: `kinds` is a string of M, L, C, Z; `numbers` their coordinates.

    M and L take two numbers (their end), C takes six, Z none. Every subpath begins with M.
    """

    kinds: list[str] = field(default_factory=list)
    numbers: list[float] = field(default_factory=list)

    def move(self, x: float, y: float) -> None:
        """Begin a subpath."""
        self.kinds.append("M")
        self.numbers += (x, y)

    def line(self, x: float, y: float) -> None:
        """A straight line from the current point."""
        self.kinds.append("L")
        self.numbers += (x, y)

    def curve(self, *numbers: float) -> None:
        """A cubic curve from the current point: two control points and the end."""
        self.kinds.append("C")
        self.numbers += numbers

    def close(self) -> None:
        """Close the subpath."""
        self.kinds.append("Z")

    def __bool__(self) -> bool:
        return any(kind != "M" for kind in self.kinds)


@dataclass(slots=True)
class _Pen:
    """Where the pen is while a path is read; `control` belongs to the command `last`."""

    path: Path = field(default_factory=Path)
    x: float = 0.0
    y: float = 0.0
    start: tuple[float, float] = (0.0, 0.0)
    control: tuple[float, float] = (0.0, 0.0)
    last: str = ""

    def draw(self, command: str, args: tuple[float, ...]) -> None:
        low = command.lower()
        origin = (self.x, self.y) if command.islower() else (0.0, 0.0)
        if self.last == "z" and low != "m":
            self.path.move(self.x, self.y)
        _DRAW[low](self, args, *origin)
        self.last = low

    def to(self, x: float, y: float) -> None:
        self.x, self.y = x, y

    def mirrored(self, after: str) -> tuple[float, float]:
        """The last control point, mirrored; the current point after any other command."""
        if self.last not in after:
            return self.x, self.y
        return 2 * self.x - self.control[0], 2 * self.y - self.control[1]


def path_of(text: str) -> tuple[Path, int | None]:
    """Read path data.

    Returns:
        What was drawn up to the first error, and the position of the error in the text.
    """
    pen, at = _Pen(), 0
    pieces = _COMMANDS.split(text)
    if pieces[0].strip():
        return pen.path, 0
    at = len(pieces[0])
    for command, run in zip(pieces[1::2], pieces[2::2], strict=True):
        if not pen.last and command not in "Mm":
            return pen.path, at
        stopped = _commands(pen, command, run)
        if stopped is not None:
            return pen.path, at + 1 + stopped
        at += 1 + len(run)
    return pen.path, None


def _commands(pen: _Pen, command: str, run: str) -> int | None:
    """Draw one command with all its repetitions; the position of an error in `run`, if any."""
    low = command.lower()
    if low == "z":
        pen.draw(command, ())
        return None if not run.strip(" \t\r\n\f") else 0
    if low == "a":
        values, end = _arc_arguments(run)
    else:
        end = _RUN.match(run).end()  # type: ignore[union-attr]  # matches the empty text too
        values = list(map(float, _NUMBERS.findall(run, 0, end)))
    takes = _TAKES[low]
    whole = len(values) - len(values) % takes
    for first in range(0, whole, takes):
        args = tuple(values[first : first + takes])
        if not all(map(math.isfinite, args)):
            return end
        pen.draw(command, args)
        command = {"M": "L", "m": "l"}.get(command, command)
    complete = whole == len(values) and whole and end == len(run)
    return None if complete else end


def _arc_arguments(run: str) -> tuple[list[float], int]:
    values: list[float] = []
    end = 0
    while match := _ARC.match(run, end):
        values += map(float, match.groups())
        end = match.end()
    return values, end


def _move(pen: _Pen, args: tuple[float, ...], ox: float, oy: float) -> None:
    pen.to(args[0] + ox, args[1] + oy)
    pen.start = (pen.x, pen.y)
    pen.path.move(pen.x, pen.y)


def _line(pen: _Pen, args: tuple[float, ...], ox: float, oy: float) -> None:
    pen.to(args[0] + ox, args[1] + oy)
    pen.path.line(pen.x, pen.y)


def _across(pen: _Pen, args: tuple[float, ...], ox: float, _: float) -> None:
    pen.to(args[0] + ox, pen.y)
    pen.path.line(pen.x, pen.y)


def _down(pen: _Pen, args: tuple[float, ...], _: float, oy: float) -> None:
    pen.to(pen.x, args[0] + oy)
    pen.path.line(pen.x, pen.y)


def _cubic(pen: _Pen, args: tuple[float, ...], ox: float, oy: float) -> None:
    a, b, c, d, x, y = args
    pen.path.curve(a + ox, b + oy, c + ox, d + oy, x + ox, y + oy)
    pen.control = (c + ox, d + oy)
    pen.to(x + ox, y + oy)


def _smooth(pen: _Pen, args: tuple[float, ...], ox: float, oy: float) -> None:
    first = pen.mirrored("cs")
    c, d, x, y = args
    pen.path.curve(*first, c + ox, d + oy, x + ox, y + oy)
    pen.control = (c + ox, d + oy)
    pen.to(x + ox, y + oy)


def _quadratic(pen: _Pen, args: tuple[float, ...], ox: float, oy: float) -> None:
    _raised(pen, (args[0] + ox, args[1] + oy), (args[2] + ox, args[3] + oy))


def _smooth_quadratic(pen: _Pen, args: tuple[float, ...], ox: float, oy: float) -> None:
    _raised(pen, pen.mirrored("qt"), (args[0] + ox, args[1] + oy))


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


def _arc(pen: _Pen, args: tuple[float, ...], ox: float, oy: float) -> None:
    rx, ry, angle, large, sweep, x, y = args
    end = (x + ox, y + oy)
    curves = arc_curves((pen.x, pen.y), (rx, ry), angle, (bool(large), bool(sweep)), end)
    if curves is None:
        pen.path.line(*end)
    else:
        for curve in curves:
            pen.path.curve(*curve)
    pen.to(*end)


def _close(pen: _Pen, _: tuple[float, ...], __: float, ___: float) -> None:
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
