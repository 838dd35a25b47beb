"""docs/project/evenness.md is fresh, and what its words say holds in its tables."""

from __future__ import annotations

import pytest

from tests.evenness import ARTS, WAYS, cells_of, held, judged

SAMPLE = [
    ("lettering", "strips, k colours"),
    ("script", "own rows, 2 colours"),
    ("ring", "as drawn, two-way"),
    ("waist", "3 zones by heat, solved"),
]
"""Rows that are worked out anew here; `python -m tests.evenness` does all of them."""

HOT, COLD, BEYOND, SEAM, WORST_HOT, WORST_COLD, SECONDS = range(7)


@pytest.mark.parametrize(("motif", "way"), SAMPLE)
def test_rows_of_the_page_are_fresh(motif: str, way: str) -> None:
    """Powers come from a search: it may stop a step apart, by half a per cent."""
    now = [float(cell) for cell in cells_of(judged(motif, way))]
    assert now == pytest.approx(held()[motif, way], rel=0.005, abs=0.4)
    assert now[:COLD] == pytest.approx(held()[motif, way][:COLD], abs=0.006)


def test_the_page_has_every_row_and_no_other() -> None:
    assert list(held()) == [(motif, way) for motif in ARTS for way in WAYS]


def of_way(way: str, figure: int) -> list[float]:
    return [held()[motif, way][figure] for motif in ARTS]


@pytest.mark.parametrize("way", ["own rows, k colours", "strips, k colours"])
def test_a_colour_to_each_round_is_even_on_all_motifs(way: str) -> None:
    assert max(of_way(way, HOT)) <= 1.035
    assert min(of_way(way, COLD)) >= 0.945
    assert max(of_way(way, WORST_HOT)) <= 1.1
    assert min(of_way(way, WORST_COLD)) >= 0.88
    assert max(held()[motif, way][SEAM] for motif in ARTS if motif != "stalk") <= 2.5
    assert held()["stalk", way][SEAM] <= 3.5


def test_two_colours_are_even_on_all_motifs_but_two() -> None:
    way = "own rows, 2 colours"
    others = [motif for motif in ARTS if motif not in {"stalk", "comb"}]
    assert max(held()[motif, way][HOT] for motif in others) <= 1.05
    assert min(held()[motif, way][COLD] for motif in others) >= 0.95


def test_rounds_are_more_even_than_one_sweep_on_every_motif() -> None:
    def off(motif: str, way: str) -> float:
        row = held()[motif, way]
        return max(row[HOT] - 1, 1 - row[COLD], row[SEAM] / 100)

    for motif in ARTS:
        for way in ("own rows, 2 colours", "own rows, k colours", "strips, k colours"):
            assert off(motif, way) < off(motif, "as drawn, one-way"), (motif, way)


def test_own_rows_of_one_colour_take_no_longer_than_the_sweep() -> None:
    own, sweep = (of_way(way, SECONDS) for way in ("own rows, 1 colour", "as drawn, one-way"))
    assert all(one <= other for one, other in zip(own, sweep, strict=True))
