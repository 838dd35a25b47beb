"""A file that is no SVG gives one clear sentence with place and remedy, never a traceback."""

import pytest

from preprocess.errors import UserError
from preprocess.model.artwork.artwork import Drawing
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.part import Part
from preprocess.model.options.reading import LayerRule, ReadingOptions
from preprocess.read.reader import read
from tests.read.reading import NS, codes, read_sheet, sheet

BOMB = (
    '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa">'
    + "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(9))
    + f"]><svg {NS}><desc>&j;</desc></svg>"
)
OUTSIDE = (
    f'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]><svg {NS}><desc>&x;</desc></svg>'
)
DEEP = f"<svg {NS}>" + "<g>" * 10_000 + "</g>" * 10_000 + "</svg>"

BAD = {
    "empty": (b"", "the file is empty"),
    "blank": (b" \n ", "the file is empty"),
    "binary": (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "no XML at all"),
    "words": (b"fern label", "no XML at all"),
    "cut_off": (sheet("<g><rect/>")[:-6], "cut off or damaged"),
    "mismatched": (f"<svg {NS}><g></svg>".encode(), "damaged"),
    "other_xml": (b"<html><body/></html>", "holds <html>"),
    "bomb": (BOMB.encode(), "entities that grow without limit"),
    "outside_entity": (OUTSIDE.encode(), "entities that grow without limit or reach out"),
    "deep": (DEEP.encode(), "nested more than 250 deep"),
    "no_width": (f'<svg {NS} width="0" height="10"/>'.encode(), "the page has no area"),
    "no_view_box": (f'<svg {NS} viewBox="0 0 0 10"/>'.encode(), "the page has no area"),
    "nothing_at_all": (f"<svg {NS}/>".encode(), "the page has no area"),
    "bad_encoding": (b'<?xml version="1.0" encoding="moth"?><svg/>', ""),
}


@pytest.mark.parametrize("name", BAD)
def test_no_svg(name):
    data, words = BAD[name]
    with pytest.raises(UserError) as caught:
        read(data, "fern.svg", ReadingOptions())
    (complaint,) = caught.value.complaints
    assert words in complaint.found
    assert complaint.remedy
    assert complaint.place.file == "fern.svg"
    assert "\n" not in str(complaint)


def test_damage_is_placed():
    with pytest.raises(UserError) as caught:
        read(b"<svg>\n  <g></svg>", "fern.svg", ReadingOptions())
    assert caught.value.complaints[0].place.line == 2


def test_internal_entities_are_read():
    head = '<!DOCTYPE svg [<!ENTITY ns "http://www.w3.org/2000/svg"><!ENTITY w "20">]>'
    data = f'{head}<svg xmlns="&ns;" width="9mm" height="9mm" viewBox="0 0 90 90">'
    data += '<rect width="&w;" height="10"/></svg>'
    (shape,) = read(data.encode(), "fern.svg", ReadingOptions()).artwork.shapes
    assert shape.geometry.area == pytest.approx(2)


def test_a_drawing_as_deep_as_allowed_is_read():
    reading = read_sheet("<g>" * 200 + '<rect width="1" height="1"/>' + "</g>" * 200)
    assert len(reading.artwork.shapes) == 1


@pytest.mark.parametrize(
    "href", ["other.svg#leaf", "http://example.org/a.svg#b", "file:///etc/passwd"]
)
def test_other_files_are_never_opened(href):
    assert "outside-reference" in codes(read_sheet(f'<use id="u" href="{href}"/>'))


def test_findings_name_element_and_line():
    reading = read_sheet('<g id="a">\n<path d="M0 0L5 x"/>\n<text>fern</text></g>')
    broken = next(f for f in reading.findings if f.code == "broken-path")
    assert broken.elements == ("svg/g[1]/path[1]",)
    assert broken.line == 2
    assert "svg/g[1]/path[1] (line 2" in broken.message
    assert broken.remedy


def test_many_of_one_kind_are_one_finding():
    reading = read_sheet("".join(f'<leaf id="t{i}"/>' for i in range(50)))
    (finding,) = (f for f in reading.findings if f.code == "unknown-element")
    assert len(finding.elements) == 50
    assert "and 42 more" in finding.message


@pytest.mark.parametrize("selector", ["#gone", ".gone", "gone"])
def test_a_part_that_is_not_there(selector):
    with pytest.raises(UserError, match="quote it: '#id'"):
        read_sheet('<rect width="5" height="5"/>', parts=(Part(outline=selector),))


def test_a_part_without_area():
    with pytest.raises(UserError, match="encloses no area"):
        read_sheet('<path id="a" d="M0 0H50"/>', parts=(Part(outline="#a"),))


def test_a_selector_that_is_none():
    with pytest.raises(UserError, match="no CSS selector"):
        read_sheet('<rect width="5" height="5"/>', keep_off=("##",))


def test_every_bad_selector_is_named_at_once():
    with pytest.raises(UserError) as caught:
        read_sheet("<g/>", parts=(Part(outline="#a"),), keep_off=("#b", "#c"))
    assert len(caught.value.complaints) == 3


def test_nothing_to_mark_is_left_to_the_checks():
    assert read_sheet("", drawing=Drawing()).artwork.shapes == ()


@pytest.mark.parametrize(
    "value",
    [
        'x="moth"', 'y="1e400"', 'y="NaN"', 'transform="rotate("', 'transform="scale(0)"',
        'style="fill:;;}{"', 'stroke-dasharray="-1 5"', 'stroke="url(" stroke-width="1e999"',
        'clip-path="url(#gone)"', 'mask="url(#gone)"', 'fill="url(#gone) moth"', 'rx="-3"',
        'transform="translate(1e308) scale(1e308)"', 'style="--a:var(--a);fill:var(--a)"',
        'stroke-dasharray="1e-9" stroke="red"', 'font-size="-2em" stroke-width="1em"',
    ],
)  # fmt: skip
def test_odd_values_never_crash(value):
    reading = read_sheet(
        f'<rect width="10" height="10" {value}/><rect x="50" width="9" height="9"/>'
    )
    assert reading.artwork.shapes[-1].geometry.bounds == pytest.approx((50, 0, 59, 9))


PLACES = {
    "broken-path": '<path id="a" d="M0 0L5 x"/>',
    "bad-value": '<rect id="a" width="5" height="5" transform="rotate("/>',
    "broken-reference": '<rect id="a" width="5" height="5" fill="url(#gone)"/>',
    "outside-reference": '<use id="a" href="moth.svg#b"/>',
    "unknown-element": '<leaf id="a"/>',
    "foreign-content-left-out": '<foreignObject id="a"><p/></foreignObject>',
    "image-left-out": '<image id="a" href="moth.png" width="9" height="9"/>',
    "filter-ignored": '<rect id="a" width="5" height="5" filter="url(#b)"/>',
    "mask-ignored": '<mask id="m"><rect width="9" height="9" fill="#888"/></mask>'
    '<rect id="a" width="5" height="5" mask="url(#m)"/>',
    "clip-without-area": '<clipPath id="m"/>'
    '<rect id="a" width="5" height="5" clip-path="url(#m)"/>',
    "gradient-as-solid": '<linearGradient id="m"><stop/><stop offset="1" stop-color="red"/>'
    '</linearGradient><rect id="a" width="5" height="5" fill="url(#m)"/>',
    "beyond-page": '<rect id="a" x="90" width="50" height="5"/>',
    "too-faint": '<rect id="a" width="5" height="5" opacity=".01"/>',
    "see-through": '<rect id="a" width="5" height="5" opacity=".5"/>',
    "nearly-page-colour": '<rect id="a" width="5" height="5" fill="#fcffff"/>',
    "page-colour": '<rect id="a" width="5" height="5" fill="#fff"/>',
    "covered": '<rect id="a" width="5" height="5"/><path d="M0 0H9V9H0Z" fill="#fff"/>',
    "hidden": '<rect id="a" width="5" height="5" display="none"/>',
    "draws-nothing": '<rect id="a" width="5" height="5" fill="none"/>',
    "flat-shape": '<rect id="a" width="5" height="5" transform="scale(0)"/>',
    "open-filled-path": '<path id="a" d="M0 0H5V5"/>',
    "too-many-dashes": '<path id="a" d="M0 0H50" stroke="red" stroke-dasharray=".00001"/>',
    "not-for-this-reader": '<rect id="a" width="5" height="5" systemLanguage="eo"/>',
    "no-layer-chosen": '<rect id="a" width="5" height="5"/>',
}


@pytest.mark.parametrize("code", PLACES)
def test_every_finding_has_its_place(code):
    """Id, line in the file, and the label of the layer."""
    body = (
        '<g xmlns:e="urn:editor" id="layer1" e:label="Fronds">\n'
        f'{PLACES[code]}</g><rect id="z" x="50" y="50" width="9" height="9"/>'
    )
    layers = (LayerRule(name="z", operation="engrave", choose=Selection(select="#z")),)
    found = read(sheet(body), "fern.svg", ReadingOptions(layers=layers)).findings
    finding = next(f for f in found if f.code == code)
    assert finding.elements == ("a",)
    assert "a (line 2, in Fronds" in finding.message
    assert finding.severity in {"warn", "note"}
    if code != "no-layer-chosen":
        assert (finding.layer, finding.line) == ("Fronds", 2)


def test_what_has_no_id_is_named_by_its_path():
    body = "<style>path{fill:red}</style><g/><g>\n<style>@import 'moth.css';</style>"
    body += '<rect/><rect width="5" height="5" display="none"/></g>'
    found = {f.code: f for f in read_sheet(body).findings}
    assert found["hidden"].elements == ("svg/g[2]/rect[2]",)
    assert found["style-import-ignored"].elements == ("svg/g[2]/style[1]",)
    assert found["style-import-ignored"].line == 2


def test_an_outline_without_area_has_its_line():
    with pytest.raises(UserError) as caught:
        read_sheet('\n<path id="a" d="M0 0H50"/>', parts=(Part(outline="#a"),))
    assert caught.value.complaints[0].place.line == 2
