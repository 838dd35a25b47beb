"""How far a drawing has come through its steps, and a memory of it for recipes that begin alike."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from preprocess.engine.running import run_step
from preprocess.errors import Refusal

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from preprocess.engine.ledger import Change
    from preprocess.engine.running import Seats
    from preprocess.engine.step import Step
    from preprocess.findings import Finding
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench


_AS_AREAS = "strokes-to-areas"
"""The pass by which strokes become areas to engrave."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """A drawing after some steps: as read, with strokes as areas, as it stands, and of each seat.

    `ledger` holds the changes of each step by name, `findings` those of reading and of the steps.
    """

    before: Artwork
    drawn: Artwork
    after: Artwork
    seats: Seats
    findings: tuple[Finding, ...] = ()
    ledger: tuple[tuple[str, tuple[Change, ...]], ...] = ()
    font_files: tuple[Path, ...] = ()


def stepped(came: Progress, step: Step, number: int, bench: Bench) -> Progress:
    """Run one more step, numbered from 1.

    Raises:
        UserError: the pass refuses.
        BrokenPromise: the ledger does not balance, or a promised fact does not hold.
    """
    outcome, seats = run_step(step, number, came.after, came.seats, bench)
    drawn = came.drawn
    if step.name == _AS_AREAS:
        drawn = outcome.artwork if came.after is drawn else _with_areas(drawn, step, bench)
    return replace(
        came,
        drawn=drawn,
        after=outcome.artwork,
        seats=seats,
        findings=(*came.findings, *outcome.findings),
        ledger=(*came.ledger, (step.name, outcome.changes)),
    )


def _with_areas(drawn: Artwork, step: Step, bench: Bench) -> Artwork:
    """The drawing with strokes as areas, though passes before have changed it already."""
    try:
        return step.params(drawn, bench).artwork
    except Refusal:
        return drawn


@dataclass(slots=True)
class StepMemory:
    """Memory of one drawing: where recipes begin alike, their first steps run once."""

    _known: list[tuple[Any, tuple[tuple[str, Any], ...], Progress]] = field(default_factory=list)

    def keep(self, asked: Any, steps: Sequence[Step], reached: Progress) -> None:
        """Keep what was reached after some steps; `asked` is what reading and bench depend on."""
        self._known.append((asked, _told(steps), reached))

    def furthest(self, asked: Any, steps: Sequence[Step]) -> tuple[int, Progress] | None:
        """Number of the first steps that ran already, and what they reached."""
        wanted = _told(steps)
        fits = [
            (len(held), reached)
            for key, held, reached in self._known
            if held == wanted[: len(held)] and key == asked
        ]
        return max(fits, key=lambda one: one[0], default=None)


def _told(steps: Sequence[Step]) -> tuple[tuple[str, Any], ...]:
    return tuple((step.name, step.params) for step in steps)
