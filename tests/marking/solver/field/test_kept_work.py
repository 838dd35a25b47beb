"""Work that is kept: the same figures as without, within its bound."""

import dataclasses

import numpy as np
import pytest
from shapely import Point, box

from preprocess.marking.solver.field import heat_solver, residual_heat
from preprocess.marking.solver.field.heat_solver import solve_heat
from preprocess.marking.solver.field.kept_work import KeptWork, digest, places_and_times
from tests.marking.drawn import area_of, artwork, shape
from tests.marking.struck import SHARP, settings, struck

SEEDS = [Point(2.4 * i, 0.3 * i).buffer(1.1) for i in range(3)]


@dataclasses.dataclass(frozen=True)
class Piece:
    nbytes: int


def pieces(*sizes):
    return lambda: iter([Piece(size) for size in sizes])


def never():
    pytest.fail("it was made again")


def sizes(kept, key, make):
    return [one.nbytes for one in kept.each(key, make)]


def test_what_was_made_is_handed_out_again():
    kept = KeptWork(room=300)
    assert sizes(kept, "leaf", pieces(40, 60)) == [40, 60]
    assert sizes(kept, "leaf", never) == [40, 60]


def test_a_piece_of_work_beyond_its_share_is_made_each_time():
    kept = KeptWork(room=300)
    assert sizes(kept, "leaf", pieces(60, 41)) == [60, 41]
    assert sizes(kept, "leaf", pieces(7)) == [7]


def test_a_full_room_keeps_what_it_has_until_nobody_asks_for_it():
    kept = KeptWork(room=300)
    for name in "abc":
        sizes(kept, name, pieces(100))
    assert sizes(kept, "d", pieces(1)) == [1]
    assert sizes(kept, "d", pieces(2)) == [2]
    for _ in range(4):
        kept.begin()
        sizes(kept, "a", never)
    assert sizes(kept, "d", pieces(3)) == [3]
    assert sizes(kept, "d", never) == [3]
    assert sizes(kept, "a", never) == [100]
    assert sizes(kept, "b", pieces(5)) == [5]


def test_work_that_is_left_unfinished_is_not_kept():
    kept = KeptWork(room=300)
    assert next(kept.each("leaf", pieces(40, 60))).nbytes == 40
    assert sizes(kept, "leaf", pieces(1)) == [1]


def exposures(power, *, apart=0.0):
    """Three seeds and a stalk narrower than a column, swept one after the other."""
    drawn = [*SEEDS, box(8 + apart, 0, 8.06 + apart, 2)]
    art = artwork(*[shape(area_of(one)) for one in drawn], settings=settings(power=power))
    found = struck(art)
    assert len(found) == len(drawn)
    return found


def test_a_key_holds_places_and_times_but_no_power():
    (one, *_), (other, *_) = exposures(0.9), exposures(0.5)
    assert one.energy != other.energy
    assert digest(places_and_times(one)) == digest(places_and_times(other))
    later = dataclasses.replace(one, entered=one.entered + 1e-9)
    longer = dataclasses.replace(one, end=one.end + 1e-9)
    keys = {digest(places_and_times(each)) for each in (one, later, longer)}
    assert len(keys) == 3


@pytest.mark.parametrize("apart", [0.0, 1.5])
def test_another_power_has_the_same_rises_whether_kept_or_made_anew(monkeypatch, apart):
    def with_kept(room):
        kept = KeptWork(room=room)
        monkeypatch.setattr(heat_solver, "KEPT", kept)
        monkeypatch.setattr(residual_heat, "KEPT", kept)
        solve_heat(exposures(0.9), SHARP, 0.1)
        return solve_heat(exposures(0.5, apart=apart), SHARP, 0.1)

    for kept, anew in zip(with_kept(64 << 20), with_kept(0), strict=True):
        for name in ("lit", "peaks", "spike", "residual"):
            assert np.array_equal(getattr(kept, name), getattr(anew, name))
