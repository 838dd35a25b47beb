"""Geometry that is left out because of where it stands is named."""

import pytest

from tests.read.reading import codes, read_sheet

PATH = '<path xmlns="http://www.w3.org/2000/svg" id="lost" d="M0 0h9v9z"/>'
XHTML = "http://www.w3.org/1999/xhtml"
LOST = {
    "strange_namespace": (
        '<rect xmlns="urn:nursery" id="lost" width="3" height="5"/>',
        "namespace urn:nursery",
    ),
    "no_namespace": ('<rect xmlns="" id="lost" width="3" height="5"/>', "namespace missing"),
    "in_a_foreign_element": (
        f'<div xmlns="{XHTML}">{PATH}</div>',
        "inside <div> of another namespace",
    ),
    "in_a_shape": ('<rect width="3" height="5"><circle id="lost" r="4"/></rect>', "inside <rect>"),
    "in_a_text": ('<text><rect id="lost" width="3" height="5"/></text>', "inside <text>"),
    "in_a_mask": (
        '<mask id="veil"><rect xmlns="" id="lost" width="3" height="5"/></mask>',
        "namespace missing",
    ),
}


@pytest.mark.parametrize("name", LOST)
def test_lost_geometry_is_named(name):
    body, why = LOST[name]
    found = [f for f in read_sheet(body).findings if f.code == "geometry-left-out"]
    (finding,) = found
    assert finding.elements == ("lost",)
    assert why in finding.message


TOLD_OR_NO_DRAWING = {
    "metadata": '<metadata><rect xmlns="urn:nursery"/></metadata>',
    "description": '<desc><text xmlns="urn:nursery">moth</text></desc>',
    "foreign_object": f'<foreignObject><text xmlns="{XHTML}"/></foreignObject>',
    "editor_data": '<guide xmlns="urn:nursery"><path-effect/></guide>',
    "ready_for_use": '<defs><g><rect width="3" height="5"/></g></defs>',
    "prefixed": '<s:rect xmlns:s="http://www.w3.org/2000/svg" width="3" height="5"/>',
}


@pytest.mark.parametrize("name", TOLD_OR_NO_DRAWING)
def test_what_is_no_drawing_is_not_named(name):
    assert "geometry-left-out" not in codes(read_sheet(TOLD_OR_NO_DRAWING[name]))


def test_an_unknown_element_within_a_mask_is_named():
    body = '<mask id="veil"><leaf><rect width="3" height="5"/></leaf></mask>'
    body += '<rect width="1" height="1" mask="url(#veil)"/>'
    assert "unknown-element" in codes(read_sheet(body))


def test_a_switch_without_an_answer_is_told():
    body = '<switch><rect systemLanguage="fr" width="3" height="5"/></switch>'
    assert codes(read_sheet(body)) == {"not-for-this-reader"}
