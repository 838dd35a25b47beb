"""A newcomer's questions, each answered with two files: the map, and the module that it names."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
QUESTIONS = {
    "where does '0.2 mm' become a number?": (("unit", "0.2 mm"), "units", "class Quantity"),
    "what stops merge before strokes-to-areas?": (
        ("order of passes",),
        "engine/proof",
        "def prove",
    ),
    "where is a float printed?": (("float", "text"), "write/svg/decimals", "def decimal_text"),
    "which file prints to the terminal?": (("prints", "only"), "cli/show", "def print_text"),
    "where is the clearance of a bar computed?": (
        ("clearance", "bars", "keep-off"),
        "passes/equalize_width/clearance",
        "def _least",
    ),
    "where does a zone by heat lose its crumbs?": (
        ("crumbs", "heat"),
        "passes/tag_power/settled_zones",
        "def _without_crumbs",
    ),
    "where does a zone by width lose its crumbs?": (
        ("crumbs", "width"),
        "geometry/offset/width_zones",
        "def _low_ones_joined",
    ),
    "where is a gap inside a row timed?": (
        ("gaps", "times"),
        "marking/job/timed_step",
        "def _swept",
    ),
    "where does a stroke become an area?": (
        ("outlines of strokes",),
        "geometry/lines/stroking",
        "def outline_stroke",
    ),
}
"""Words to look for in the map, the module where they stand, and the answer in it."""


def rows() -> list[tuple[str, str]]:
    """Modules of the map below preprocess, with their sentences."""
    room, found = "", []
    for line in (ROOT / "docs/project/map.md").read_text("utf-8").splitlines():
        if line.startswith("## "):
            room = line.removeprefix("## preprocess").strip("/ ")
        elif match := re.fullmatch(r"\| `(\w+)` \| (.*) \|", line):
            found.append((f"{room}/{match[1]}".strip("/"), match[2].lower()))
    return found


@pytest.mark.parametrize("question", QUESTIONS)
def test_the_map_leads_to_the_module(question: str) -> None:
    words, module, answer = QUESTIONS[question]
    found = [name for name, sentence in rows() if all(word in sentence for word in words)]
    assert found == [module]
    assert answer in (ROOT / "preprocess" / f"{module}.py").read_text("utf-8")


def test_one_page_says_where_to_add_a_pass() -> None:
    page = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    assert "## Write a pass" in page
    assert "preprocess/passes/" in page
