"""The walk from an unknown filament to a laser-ready drawing, as docs/walkthrough.md tells it."""

import re

import pytest

from tests.walkthrough import COMMANDS, FOLDER, ROOT, made, walk

PAGES = {name: (ROOT / "docs" / name).read_text("utf-8") for name in ("walkthrough.md", "fit.md")}
QUOTED = [
    (name, block)
    for name, page in PAGES.items()
    for block in re.findall(r"^```text\n(.*?)^```$", page, re.DOTALL | re.MULTILINE)
]


@pytest.fixture(scope="module")
def walked(tmp_path_factory):
    folder = tmp_path_factory.mktemp("walk")
    said = walk(folder, FOLDER)
    return folder, " ".join(said.split())


def test_every_file_comes_out_as_it_is_kept(walked):
    assert made(walked[0]) == made(FOLDER)


@pytest.mark.parametrize("block", [block for _, block in QUOTED], ids=[name for name, _ in QUOTED])
def test_the_pages_quote_what_is_said(walked, block):
    for piece in block.split("…"):
        assert " ".join(piece.split()) in walked[1]


def test_the_page_shows_these_commands_in_this_order():
    shown = re.findall(r"^evenmark (.+)$", PAGES["walkthrough.md"], re.MULTILINE)
    assert tuple(shown) == COMMANDS
