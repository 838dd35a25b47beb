"""The walk from an unknown filament to a laser-ready drawing, as docs/use/walkthrough.md tells it.

A fit may differ in its third digit from one build of the libraries to another, so words are
compared as they stand and numbers to five per cent.
"""

import re

import pytest

from tests.walkthrough import COMMANDS, FOLDER, ROOT, made, walk

PAGES = {
    name: (ROOT / "docs" / "use" / name).read_text("utf-8") for name in ("walkthrough.md", "fit.md")
}
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


NUMBER = re.compile(r"\d+(?:\.\d+)?")
VERSION = re.compile(r"evenmark \d+(?:\.\d+)+")
DRAWN = "band.svg", "heat.svg", "fern-label.overlay.svg"
"""Pictures of what was fitted: of these only the words are compared."""


def alike(one: str, other: str) -> bool:
    """Whether two texts say the same, numbers to five per cent or two hundredths.

    Which version wrote them does not matter.
    """
    one, other = (VERSION.sub("evenmark", text) for text in (one, other))
    if NUMBER.sub("#", one) != NUMBER.sub("#", other):
        return False
    pairs = zip(map(float, NUMBER.findall(one)), map(float, NUMBER.findall(other)), strict=True)
    return all(abs(a - b) <= max(0.02, 0.05 * max(a, b)) for a, b in pairs)


def words(data: bytes) -> str:
    return " ".join(re.findall(r"<text[^>]*>([^<]*)<", data.decode()))


def test_every_file_comes_out_as_it_is_kept(walked):
    new, kept = made(walked[0]), made(FOLDER)
    assert new.keys() == kept.keys()
    for name, data in kept.items():
        if name.endswith(".jpg"):
            assert new[name] == data
        elif name in DRAWN:
            assert alike(words(new[name]), words(data)), name
        else:
            assert alike(new[name].decode(), data.decode()), name


def test_what_differs_is_found():
    assert alike("power 29 %, weak", "power 30 %, weak")
    assert not alike("power 29 %, weak", "power 35 %, weak")
    assert not alike("power 29 %, weak", "power 29 %, even")
    assert alike("evenmark 0.1.0", "evenmark 2.0.1")


@pytest.mark.parametrize("block", [block for _, block in QUOTED], ids=[name for name, _ in QUOTED])
def test_the_pages_quote_what_is_said(walked, block):
    for piece in block.split("…"):
        shown = " ".join(piece.split())
        assert any(alike(shown, said) for said in candidates(shown, walked[1])), shown


def candidates(shown, said):
    """Stretches of what was said that have the words of what is shown, whatever their numbers."""
    words_of = re.escape(NUMBER.sub("\0", shown)).replace("\0", NUMBER.pattern)
    return re.findall(words_of, said)


def test_the_page_shows_these_commands_in_this_order():
    shown = re.findall(r"^evenmark (.+)$", PAGES["walkthrough.md"], re.MULTILINE)
    assert tuple(shown) == COMMANDS
