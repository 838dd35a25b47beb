"""Markup in internal entities is drawn where it is put in, as renderers do."""

import pytest

from preprocess.errors import UserError
from preprocess.model.options.limits import DrawingLimits
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read
from tests.comparing.agreement import agreement
from tests.comparing.flat import Flat
from tests.comparing.ours import drawn
from tests.read.reading import NS, codes, painted


def label(entities, body):
    declared = "".join(f'<!ENTITY {name} "{text}">' for name, text in entities.items())
    size = 'width="80mm" height="40mm" viewBox="0 0 80 40" xmlns:leaf="http://www.w3.org/2000/svg"'
    return f"<!DOCTYPE svg [{declared}]>\n<svg {NS} {size}>\n{body}</svg>".encode()


LABELS = {
    "plain": (label({"seed": "<rect width='6' height='5'/>"}, "&seed;"), 30),
    "twice": (
        label(
            {"seed": "<g><rect width='6' height='5'/></g>"},
            "<g transform='translate(9)'>&seed;</g>&seed;",
        ),
        60,
    ),
    "within": (
        label(
            {
                "seed": "<rect width='6' height='5'/>",
                "pair": "<g>&seed;</g><rect x='10' width='1' height='1'/>",
            },
            "&pair;",
        ),
        31,
    ),
    "prefixed": (label({"seed": "<leaf:rect width='6' height='5'/>"}, "&seed;"), 30),
    "link": (
        label(
            {"copy": "<use x='20' xlink:href='#seed'/>"},
            "<rect id='seed' width='6' height='5'/>&copy;",
        ),
        60,
    ),
    "own_namespace": (
        label(
            {"seed": "<rect xmlns='http://www.w3.org/2000/svg' width='6' height='5'/>"}, "&seed;"
        ),
        30,
    ),
}


@pytest.mark.parametrize("name", LABELS)
def test_markup_of_an_entity_is_drawn(name):
    data, area = LABELS[name]
    reading = read(data, "seed.svg", ReadingOptions())
    assert painted(reading).area == pytest.approx(area, abs=1e-6)
    assert codes(reading) == set()


def test_a_renderer_draws_the_same():
    data, _ = LABELS["within"]
    ours = Flat().text(drawn(read(data, "seed.svg", ReadingOptions()).artwork, (302, 151), 1.0))
    assert agreement(ours, Flat().text(data.decode())).holds(0.99, strict=True)


def test_elements_keep_their_lines():
    data = label(
        {"seed": "<rect width='6' height='5'/>"},
        "<g/>\n<rect id='leaf' width='1' height='1'/>&seed;",
    )
    (leaf, _) = read(data, "seed.svg", ReadingOptions()).artwork.shapes
    assert leaf.sources[0].line == 4


REFUSED = {
    "unbound": (label({"seed": "<moth:rect/>"}, "&seed;"), "unbound prefix"),
    "open": (label({"seed": "<g>"}, "&seed;"), "damaged"),
    "bomb": (
        label(
            {"a": "<g/>" * 9}
            | {b: f"&{a};" * 10 for a, b in zip("abcdefgh", "bcdefghi", strict=True)},
            "&i;",
        ),
        "entities that grow without limit",
    ),
    "prefixed_bomb": (
        label(
            {"a": "<moth:g/>" * 9}
            | {b: f"&{a};" * 10 for a, b in zip("abcdefgh", "bcdefghi", strict=True)},
            "&i;",
        ),
        "",
    ),
    "deep": (label({"seed": "<g>" * 20 + "</g>" * 20}, "&seed;"), "nested more than 12 deep"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_damage_in_an_entity_is_one_sentence(name):
    data, words = REFUSED[name]
    with pytest.raises(UserError) as caught:
        read(data, "seed.svg", ReadingOptions(limits=DrawingLimits(depth=12)))
    (complaint,) = caught.value.complaints
    assert words in complaint.found
    assert complaint.remedy
    assert complaint.place.file == "seed.svg"


def test_an_earlier_drawing_does_not_matter():
    with pytest.raises(UserError):
        read(b"<svg><g></svg>", "moth.svg", ReadingOptions())
    data, area = LABELS["link"]
    assert painted(read(data, "seed.svg", ReadingOptions())).area == pytest.approx(area)
    strange = data.replace(b"<svg ", b'<svg xmlns:q="no address" ')
    assert painted(read(strange, "seed.svg", ReadingOptions())).area == pytest.approx(area)
