"""What is predicted of the fern today: the film and the lines of the README, and its page."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest

from preprocess.marking.evenness.sentence import signed_percent
from preprocess.playback.page.page import playback_page
from tests.beam_film import FRAMES, fern, film
from tests.jobs.looks import difference, words
from tests.pictures import BEAM
from tests.readme_run import quoted, said

SMALL = 250_000


@pytest.fixture(scope="module")
def made() -> str:
    return film(*fern())


def test_the_film_is_fresh(made) -> None:
    kept = BEAM.read_text("utf-8")
    assert words(kept) == words(made), "run python -m tests.pictures --write"
    assert difference(kept, made) < 1e-4, "run python -m tests.pictures --write"


def test_it_needs_no_script_and_rests_where_people_want_no_motion(made) -> None:
    root = ET.fromstring(made)
    assert not [one for one in root.iter() if one.tag.endswith(("script", "foreignObject"))]
    assert "@media (prefers-reduced-motion: reduce) { .frame, .end { animation: none } }" in made
    assert made.count('class="frame"') == 2 * FRAMES
    assert set(re.findall(r'href="([^"]{15})', made)) == {"data:image/png;"}


def test_it_tells_the_figures_of_the_prediction(made) -> None:
    for prediction in fern()[1]:
        likely = prediction.objective.likely
        hot, cold = signed_percent(likely.hot), signed_percent(likely.cold)
        assert f"hottest place {hot}, coldest {cold}" in made


def test_the_readme_quotes_the_run() -> None:
    assert quoted() == said(*fern()), "run python -m tests.readme_run --write"
    assert len(quoted()) <= 8


def test_the_page_of_the_fern_stays_small() -> None:
    assert len(playback_page(*fern(), "fern.svg")) <= SMALL
