"""Every number in the text of docs/use/heat.md is what the heat model says today."""

import re
from pathlib import Path

import pytest

from preprocess.marking.heat.index import GRADED, UNGRADED
from preprocess.marking.solver.thermal_medium import UNCALIBRATED
from tests.heat_figures import facts

PAGE = (Path(__file__).parents[2] / "docs" / "use" / "heat.md").read_text("utf-8")
BODY = " ".join(PAGE.split("## Appendix")[0].split())
FACTS = {
    **facts(),
    "uncertainty": f"by a factor of {UNGRADED:g} either way, and of {GRADED:g} for a graded",
    "trust": UNCALIBRATED,
}
BY_DEFINITION = ("The patch is at 1.", "1 is like the patch.", "Above 1 ", "below 1 weaker")
"""Sentences that define the index."""
THE_SCENE = ("rows of 1 mm", "rows of 36 mm", "A dot of 4 mm", "the reach of warmth in 10 s")
"""What the examples are drawn with: see tests/heat_figures.py."""


@pytest.mark.parametrize("name", FACTS)
def test_the_page_says_what_the_model_says(name):
    assert FACTS[name] in BODY


def test_no_number_of_the_page_is_left_unchecked():
    text = re.sub(r"\]\([^)]*\)", "]", BODY)
    text = re.sub(r"(?<= )\d\. \*\*", "", text)  # numbers of a list
    for known in sorted((*FACTS.values(), *BY_DEFINITION, *THE_SCENE), key=len, reverse=True):
        text = text.replace(known, "")
    assert re.findall(r".{20}\d.{20}", text) == []
