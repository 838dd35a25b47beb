"""Blend modes: marked or not as resvg shows it over a white page."""

import pytest

from tests.comparing.agreement import agreement
from tests.comparing.flat import Flat
from tests.comparing.ours import drawn
from tests.read.reading import codes, read_sheet, sheet

LEAF = '<rect x="10" y="10" width="60" height="40"/>'
MODES = (
    "multiply screen overlay darken lighten color-dodge color-burn hard-light soft-light "
    "hue saturation color luminosity difference exclusion"
)
VEIL = '<rect x="30" y="5" width="20" height="60" fill="{}" style="mix-blend-mode:{}"/>'


def agrees(body):
    reading, renderer = read_sheet(body), Flat()
    theirs = renderer.text(sheet(body).decode())
    ours = renderer.text(drawn(reading.artwork, theirs.shape[::-1], 1.0))
    return reading, agreement(ours, theirs).holds(0.99, strict=False)


@pytest.mark.parametrize("colour", ["#fff", "#000", "#448"])
@pytest.mark.parametrize("mode", MODES.split())
def test_a_veil_over_a_leaf_and_the_page(mode, colour):
    reading, same = agrees(LEAF + VEIL.format(colour, mode))
    assert same or codes(reading) == {"blend-ignored"}
    assert same or mode in {"difference", "exclusion"}


GROUPS = {
    "white_group": f'{LEAF}<g style="mix-blend-mode:multiply">{VEIL.format("#fff", "normal")}</g>',
    "white_erases_within_its_group": (
        f'{LEAF}<g style="mix-blend-mode:multiply"><rect x="60" y="0" width="30" height="90"/>'
        '<rect x="65" y="5" width="10" height="60" fill="#fff"/></g>'
    ),
    "below_a_cover": (
        f"{LEAF}{VEIL.format('#000', 'screen')}"
        '<rect x="35" y="20" width="50" height="9" fill="#fff"/>'
    ),
    "stroke": (
        f'{LEAF}<path d="M0 30H90" stroke="#fff" stroke-width="8" style="mix-blend-mode:screen"/>'
    ),
    "faint": LEAF
    + '<rect width="99" height="20" fill="#fff" opacity=".6" style="mix-blend-mode:multiply"/>',
}


@pytest.mark.parametrize("name", GROUPS)
def test_groups_and_strokes(name):
    assert agrees(GROUPS[name])[1]


def test_what_blends_away_is_named():
    reading = read_sheet(LEAF + VEIL.format("#fff", "multiply").replace("<rect", '<rect id="veil"'))
    (finding,) = [f for f in reading.findings if f.code == "blended-away"]
    assert finding.elements == ("veil",)


@pytest.mark.parametrize(
    "body",
    [
        f'<g opacity=".9">{LEAF}{VEIL.format("#fff", "multiply")}</g>',
        f'<g style="isolation:isolate">{LEAF}{VEIL.format("#fff", "multiply")}</g>',
        LEAF + VEIL.format("#fff", "difference"),
    ],
)
def test_what_cannot_be_told_is_a_warning(body):
    assert "blend-ignored" in codes(read_sheet(body))


DOT = (
    "data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGP4DwABAQEA"
    "sTjq7AAAAABJRU5ErkJggg=="
)
MASK = '<mask id="m" {}><path d="M0 0h9v9z" fill="white" {}/></mask>{}'
MASKED = '<path id="leaf" mask="url(#m)" d="M0 0h20v9z"/>'
BLENDED = 'style="mix-blend-mode:difference"'


@pytest.mark.parametrize(
    ("body", "named"),
    [
        (f'<image id="photo" {BLENDED} width="9" height="9" href="{DOT}"/>', "photo (line 1; diff"),
        (f'<g {BLENDED}><image id="photo" width="9" height="9" href="{DOT}"/></g>', "photo"),
        (MASK.format("", f'id="hole" {BLENDED}', MASKED), "hole (line 1; difference, in a mask)"),
        (MASK.format('mask-type="alpha"', BLENDED, MASKED), None),
        (MASK.format("", "", f'<g style="mix-blend-mode:multiply">{MASKED}</g>'), None),
    ],
)
def test_blend_modes_of_pictures_and_in_masks_are_told(body, named):
    told = [one.message for one in read_sheet(body).findings if one.code == "blend-ignored"]
    assert len(told) == (named is not None)
    assert not named or named in told[0]
