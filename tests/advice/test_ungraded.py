"""Ways that leave what was graded are named, those near it are not."""

from dataclasses import dataclass

import pytest

from preprocess.advice.ungraded import ungraded_sentences
from preprocess.advice.ways import Way
from preprocess.model.bench.filament import Filament, Tried

MOSS = Filament(name="moss", tried=Tried(speed=(300.0, 600.0), pitch=(0.1, 0.1)))


@dataclass(frozen=True)
class Measured:
    way: Way


class Limits:
    def keep(self, _one):
        return True


@dataclass(frozen=True)
class Advice:
    """What `ungraded` looks at: the recipe as it is, one other way, the speeds that were tried."""

    best: tuple[Measured, ...]
    paces: tuple[Measured, ...] = ()
    given: Measured = Measured(Way(given=True, speed=5000.0))
    one: None = None
    limits: Limits = Limits()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, None),
        ({"speed": 750.0}, None),  # a quarter more than 600
        ({"speed": 240.0}, None),
        ({"pitch": 0.125}, None),
        ({"speed": 760.0}, "Way 1 has 760 mm/s where 300 mm/s to 600 mm/s was graded"),
        ({"pitch": 0.14}, "Way 1 has 0.14 mm where 0.1 mm was graded"),
        ({"pitch": 0.07, "speed": 200.0}, "200 mm/s where 300 mm/s to 600 mm/s was graded and"),
    ],
)
def test_a_way_far_from_graded_cells_is_called_a_guess(changes, words):
    told = ungraded_sentences(Advice(best=(Measured(Way(**changes)),)), MOSS)
    assert len(told) == (words is not None)
    if words:
        assert words in told[0]
        assert told[0].endswith("Mark and grade such cells first.")


def test_speeds_of_the_table_are_told_in_one_sentence():
    paces = tuple(Measured(Way(speed=v)) for v in (300.0, 600.0, 1200.0, 2400.0))
    (told,) = ungraded_sentences(Advice(best=(), paces=paces), MOSS)
    assert told.startswith("The powers at 1200 mm/s, 2400 mm/s are guesses: cells of 300 mm/s to")


@pytest.mark.parametrize(
    "filament", [None, Filament(name="moss"), Filament(name="m", tried=Tried())]
)
def test_a_profile_that_says_nothing_of_it_is_no_reason(filament):
    way = Measured(Way(speed=9000.0))
    assert ungraded_sentences(Advice(best=(way,), paces=(way,)), filament) == []
