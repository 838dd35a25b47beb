"""Rows of greys across a motif that has few rows along it: their recipe, and how even they are."""

from __future__ import annotations

from dataclasses import replace

import pytest

from preprocess.advice.candidates import across_way
from preprocess.advice.ways import Way, edit_of
from preprocess.model.artwork.settings import Settings
from tests.grey_evenness import GreyJob, converted, judged

ALONG = Settings(angle=0.0, pitch=0.1)


@pytest.mark.parametrize(
    ("way", "own", "colours", "found"),
    [
        (Way(images=4), ALONG, 7, Way(images=5, angle=90.0)),
        (Way(images=4), ALONG, 4, Way(images=4, angle=90.0)),
        (Way(images=4), Settings(angle=120.0, pitch=0.1), 7, Way(images=5, angle=30.0)),
        (Way(images=1), ALONG, 7, None),
        (Way(rounds=4, colours=4), ALONG, 7, None),
        (Way(images=5, angle=90.0), ALONG, 7, None),
    ],
)
def test_rows_across_are_those_of_several_images_turned_by_a_quarter(way, own, colours, found):
    assert across_way(way, own, colours) == found


def test_the_recipe_gets_the_angle():
    edit = edit_of(Way(images=5, angle=90.0), ["merge"])
    assert edit.engrave["angle"] == "90 deg"
    assert edit.passes == ("merge", {"grey": {"images": 5}})
    assert Way(images=5, angle=90.0).title == "greys in 5 images, rows at 90 deg"


def test_the_second_simulator_finds_all_aims_met_across_and_a_seam_along():
    """Aims of images of greys as docs/project/evenness.md has them."""
    assert judged(GreyJob(motif="twig")).seam > 0.015
    job = GreyJob(motif="twig", images=5, angle=90)
    file = converted(job)
    found = judged(job, file)
    assert found.hot <= 1.02
    assert found.cold >= 0.985
    assert found.seam <= 0.015
    assert (found.worst_hot <= 1.06, found.worst_cold >= 0.92) == (True, True)
    other = judged(replace(job, gamma=1.4), file)
    assert (other.hot <= 1.05, other.cold >= 0.97) == (True, True)
