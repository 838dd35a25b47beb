"""The head of the page, for each thing that may become of a mark."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from types import SimpleNamespace

import pytest

from preprocess.marking.evenness.objective import EvennessFigures, Objective
from preprocess.playback.page.headline import headline


@dataclass(frozen=True)
class Told:
    """What the head needs of a prediction."""

    objective: Objective | None
    schedule: SimpleNamespace = field(
        default_factory=lambda: SimpleNamespace(total=8.9, visits=(1,))
    )


def told(hot: float, cold: float, beyond: float = 0.0, outside: float | None = None) -> Told:
    figures = EvennessFigures(hot=hot, cold=cold, beyond=beyond, seam=0.0, outside=outside)
    return Told(Objective(likely=figures, worst=figures, time=8.9, layers=1))


UNEVEN, EVEN = told(1.10, 0.64, beyond=0.4), told(1.01, 0.98)

WORSE = (
    "As rewritten, this mark gets less even than as drawn. Do not mark it so: evenmark advise "
    "compares other ways."
)
PLACES = (
    "Against most of the mark, the hottest place is +10 % as drawn and +1 % as rewritten, the "
    "coldest −36 % and −2 %."
)

CASES = {
    "better": (UNEVEN, EVEN, "As rewritten, the mark is predicted to come out even."),
    "not even yet": (
        UNEVEN,
        told(1.05, 0.8, beyond=0.1),
        "As rewritten, the mark is predicted to come out more even, but not even yet.",
    ),
    "no change needed": (
        told(1.02, 0.97),
        told(1.02, 0.97),
        "This drawing is predicted to mark evenly as it is. It needs no change.",
    ),
    "no change made": (
        UNEVEN,
        UNEVEN,
        "The rewriting changes little: the mark is as uneven as before.",
    ),
    "worse": (told(1.03, 0.97), told(1.12, 0.97, beyond=0.02), WORSE),
    "no heat": (
        Told(None),
        Told(None),
        "No heat is predicted: nothing is engraved on the part, or its pitch or speed is missing.",
    ),
    "no heat as drawn": (
        Told(None),
        EVEN,
        "No heat is predicted for the drawing as it is, so there is nothing to compare.",
    ),
}


@pytest.mark.parametrize(("before", "after", "sentence"), CASES.values(), ids=CASES)
def test_it_says_what_becomes_of_the_mark(before, after, sentence) -> None:
    assert headline(before, after)[0] == sentence


def test_it_tells_the_worst_places_and_the_time_of_both() -> None:
    after = replace(EVEN, schedule=SimpleNamespace(total=75.0, visits=(1,)))
    assert headline(UNEVEN, after)[1:] == [
        PLACES,
        "Marking takes 8.9 s as drawn and 1 min 15 s as rewritten.",
    ]


def test_it_tells_the_share_outside_the_window_of_a_graded_filament() -> None:
    one, other = told(1.1, 0.9, outside=0.97), told(1.0, 1.0, outside=0.0)
    sentence = (
        "Outside the filament's window lies 97 % of the area as drawn, and nothing as rewritten."
    )
    assert sentence in headline(one, other)


def test_it_tells_no_time_that_is_not_known() -> None:
    unknown = replace(UNEVEN, schedule=SimpleNamespace(total=0.0, visits=()))
    assert not any("Marking takes" in one for one in headline(unknown, EVEN))
