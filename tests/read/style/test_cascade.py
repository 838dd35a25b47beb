"""Which rules of a style sheet count, and what is said of those that do not."""

import pytest

from tests.read.reading import codes, read_sheet

ODD = "style-rule-ignored"


def drawn(style, tag="style"):
    """Which of two squares are painted, and the findings of the style sheet."""
    body = (
        f'<{tag}>{style}</style><g class="row"><rect id="a" class="a" width="9" height="9"/></g>'
        '<rect id="b" x="20" width="9" height="9"/>'
    )
    reading = read_sheet(body)
    said = codes(reading) - {"draws-nothing"}
    return "".join(shape.id for shape in reading.artwork.shapes), said


@pytest.mark.parametrize(
    ("style", "shown", "said"),
    [
        ("@media screen{.a{fill:none}}", "b", set()),
        ("@media all, print{.a{fill:none}}", "b", set()),
        ("@media print{.a{fill:none}}", "ab", set()),
        ("@media not screen{.a{fill:none}}", "ab", set()),
        ("@media (prefers-color-scheme: light){.a{fill:none}}", "b", set()),
        ("@media screen and (prefers-color-scheme:dark){.a{fill:none}}", "ab", set()),
        ("@media (min-width: 1px){.a{fill:none}}", "ab", {ODD}),
        ("@media print and (min-width: 1px){.a{fill:none}}", "ab", set()),
        ("@supports (fill: red){.a{fill:none}}", "b", set()),
        ("@supports not (fill: red){.a{fill:none}}", "ab", set()),
        ("@layer ours{.a{fill:none}}", "b", set()),
        ("@layer ours;.a{fill:none}", "b", set()),
        ("@container (width > 1px){.a{fill:none}}", "ab", {ODD}),
        ("@font-face{font-family:Moth}.a{fill:none}", "b", set()),
        ("@keyframes sway{from{fill:none}}", "ab", set()),
        (".row{.a{fill:none}}", "b", set()),
        (".row{&amp; rect{fill:none}}", "b", set()),
        (".gone{rect{fill:none}}", "ab", set()),
        (".row{fill:none;.a{fill:#000}}", "ab", set()),
        ("rect!!{fill:none}#b{fill:none}", "a", {ODD}),
        (".a{fill:none;fill:moth}", "b", {"style-value-ignored"}),
        (".a{fill:none;-moth-fill:red;fill-moth:3}", "b", set()),
        (".a{width:calc(2px*3)}", "ab", set()),
        (".a{width:calc(2px+3px)}", "ab", {"style-value-ignored"}),
    ],
)
def test_rules(style, shown, said):
    assert drawn(style) == (shown, said)


def test_a_sheet_for_a_medium_that_cannot_be_told():
    assert drawn(".a{fill:none}", 'style media="(min-width: 9px)"') == ("ab", {ODD})
    assert drawn(".a{fill:none}", 'style media="print"') == ("ab", set())


def test_a_value_that_cannot_be_read_is_named_with_its_place():
    reading = read_sheet(
        '<g>\n<rect style="fill:moth" stroke-width="wide" width="9" height="9"/></g>'
    )
    (finding,) = (f for f in reading.findings if f.code == "style-value-ignored")
    assert finding.elements == ("svg/g[1]/rect[1]",)
    assert finding.line == 2
    assert "fill: moth" in finding.message
    assert "stroke-width='wide'" in finding.message


def test_places_of_letters_are_no_bad_values():
    assert "style-value-ignored" not in codes(
        read_sheet('<text x="1 2 3" y="4 5" rotate="9 8">f</text>')
    )
