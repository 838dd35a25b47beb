"""Extrapolation: ways whose settings lie beyond the graded cells of the profile."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.advice.sentences import numbered_ways
from preprocess.marking.checks.extrapolation import beyond_graded
from preprocess.units import PITCH, SPEED

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from preprocess.advice.advise import Advice
    from preprocess.advice.ways import Way
    from preprocess.model.bench.filament import Filament


def ungraded_sentences(advice: Advice, filament: Filament | None) -> list[str]:
    """A sentence for each way, and one for the speeds, that lie beyond the graded cells."""
    if filament is None or filament.tried is None:
        return []
    told = [
        f"Way {number} has {' and '.join(found)}: that is a guess. Mark and grade such cells first."
        for number, one in numbered_ways(advice).items()
        if not one.way.given and (found := list(_of(one.way, filament)))
    ]
    graded = filament.tried.speed
    fast = [one.way.speed for one in advice.paces if beyond_graded(one.way.speed, graded)]
    if fast and graded:
        told.append(
            f"The powers at {', '.join(SPEED.text(v) for v in fast if v)} are guesses: cells of "
            f"{_between(graded, SPEED.text)} were graded."
        )
    return told


def _of(way: Way, filament: Filament) -> Iterator[str]:
    tried = filament.tried
    if tried is None:
        return
    for value, ends, words in (
        (way.speed, tried.speed, SPEED.text),
        (way.pitch, tried.pitch, PITCH.text),
    ):
        if value is not None and ends is not None and beyond_graded(value, ends):
            yield f"{words(value)} where {_between(ends, words)} was graded"


def _between(ends: tuple[float, float], words: Callable[[float], str]) -> str:
    low, high = map(words, ends)
    return low if low == high else f"{low} to {high}"
