"""Progress on a terminal, for work over two seconds: pieces, shares, or slots of different sizes.

Slots are filled by what is heard from within a step. In a pipe all is silent.
"""

from __future__ import annotations

from contextlib import contextmanager
from math import fsum
from typing import TYPE_CHECKING, TypeVar

from preprocess.marking.solver.hearing import heard_by

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

_Item = TypeVar("_Item")

HUNDRED = 100
"""Units of a bar that is filled by shares or in slots."""

SIMULATION = 10.0
"""Size of a prediction of heat, where a step without one has the size 1."""


class Slots:
    """Slots from the left; `advance` is called with the units of the bar that were filled.

    What is heard in a slot never fills more than that slot; when it is done, the rest is filled.
    """

    def __init__(self, sizes: Sequence[float], advance: Callable[[float], None]) -> None:
        total = fsum(sizes) or 1.0
        self._unit = HUNDRED / total
        self._sizes = iter([size * self._unit for size in sizes])
        self._left = next(self._sizes, 0.0)
        self._advance = advance

    def hear(self, share: float) -> None:
        """Fill the slot at work by a share of a simulation."""
        step = min(share * SIMULATION * self._unit, self._left)
        self._left -= step
        self._advance(step)

    def done(self) -> None:
        """Fill what is left of the slot at work, and go on to the next."""
        self._advance(self._left)
        self._left = next(self._sizes, 0.0)


@contextmanager
def progress_bar(total: int, doing: str, *, quiet: bool = False) -> Iterator[Callable[..., None]]:
    """A progress bar with the time taken and left, on a terminal only.

    Call its value after each piece of work, with the number of pieces where it is not 1.
    """
    from rich.console import Console

    console = Console(stderr=True, highlight=False)
    if quiet or not console.is_terminal:
        yield lambda _pieces=1.0: None
        return
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeElapsedColumn,
        TimeRemainingColumn,
    )

    columns = (
        *(TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn()),
        *(TimeElapsedColumn(), TextColumn("left:"), TimeRemainingColumn()),
    )
    with Progress(*columns, console=console, transient=True) as bar:
        task = bar.add_task(doing, total=total)
        yield lambda pieces=1.0: bar.advance(task, pieces)


def each(items: Sequence[_Item], doing: str, *, quiet: bool = False) -> Iterator[_Item]:
    """The items one by one; the bar moves when the work on one is done."""
    with progress_bar(len(items), doing, quiet=quiet) as advance:
        for item in items:
            yield item
            advance()


@contextmanager
def progress_of(doing: str, *, quiet: bool = False) -> Iterator[Callable[[float], None]]:
    """A progress bar for work that tells its shares; call the value with each of them."""
    with progress_bar(HUNDRED, doing, quiet=quiet) as advance:
        yield lambda share: advance(HUNDRED * share)


@contextmanager
def progress_in_slots(
    sizes: Sequence[float], doing: str, *, quiet: bool = False
) -> Iterator[Callable[[], None]]:
    """A progress bar for steps of different sizes; call the value after each.

    It moves within a step too, by the simulations of heat that the step makes.
    """
    if quiet:
        yield lambda: None
        return
    with progress_bar(HUNDRED, doing) as advance:
        slots = Slots(sizes, advance)
        with heard_by(slots.hear):
            yield slots.done
