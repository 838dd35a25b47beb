"""The physical size of the page: where it came from, and what it might be instead."""

import pytest

from preprocess.model.artwork.artwork import Drawing
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read
from tests.read.reading import NS

DOT = '<rect width="1" height="1"/>'


def sized(attributes, per_inch=96.0):
    data = f"<svg {NS} {attributes}>{DOT}</svg>".encode()
    return read(data, "fern.svg", ReadingOptions(drawing=Drawing(px_per_inch=per_inch)))


def told(reading, code):
    return next(f for f in reading.findings if f.code == code)


@pytest.mark.parametrize(
    ("attributes", "size", "source", "finding"),
    [
        ('width="60mm" height="3cm"', (60, 30), "width and height of the drawing", None),
        ('width="2in" height="72pt"', (50.8, 25.4), "width and height of the drawing", None),
        ('width="6pc" height="40Q"', (25.4, 10), "width and height of the drawing", None),
        ('width="96" height="48px"', (25.4, 12.7), "at 96 px per inch", "size-in-pixels"),
        ('width="60mm" viewBox="0 0 2 1"', (60, 30), "width of the drawing, with the", None),
        ('height="30mm" viewBox="0 0 2 1"', (60, 30), "height of the drawing, with the", None),
        ('viewBox="0 0 96 48"', (25.4, 12.7), "viewBox of the drawing", "assumed-scale"),
        (
            'width="100%" height="100%" viewBox="0 0 96 48"',
            (25.4, 12.7),
            "viewBox",
            "assumed-scale",
        ),
        (
            'width="50vw" height="50vh" viewBox="0 0 96 48"',
            (25.4, 12.7),
            "viewBox",
            "assumed-scale",
        ),
        ('width="6em" height="6em"', (25.4, 25.4), "at 96 px per inch", "assumed-scale"),
        ('width="40mm"', (40, 40), "one side of the drawing", "assumed-scale"),
        ("", (25.4 / 96, 25.4 / 96), "extent of what is drawn", "assumed-scale"),
        ('style="width:60mm;height:30mm" width="5"', (60, 30), "width and height", None),
    ],
)
def test_where_the_size_comes_from(attributes, size, source, finding):
    reading = sized(attributes)
    page = reading.artwork.page
    assert (page.width, page.height) == pytest.approx(size, abs=1e-6)
    assert source in page.size_from
    codes = {f.code for f in reading.findings} & {"size-in-pixels", "assumed-scale"}
    assert codes == ({finding} if finding else set())


def test_what_the_size_would_be_at_other_px():
    """192 px: 67.73 mm at 72, 54.19 at 90, 50.8 at 96 px per inch."""
    message = told(sized('width="192" height="192"'), "size-in-pixels").message
    assert "50.80 x 50.80 mm, counting 96 px per inch" in message
    assert "67.73 x 67.73 mm at 72, 54.19 x 54.19 mm at 90 px per inch" in message
    other = told(sized('width="192" height="192"', 90.0), "size-in-pixels").message
    assert "54.19 x 54.19 mm, counting 90 px per inch" in other
    assert "67.73 x 67.73 mm at 72, 50.80 x 50.80 mm at 96 px per inch" in other


def test_only_what_hangs_on_px_changes():
    message = told(sized('width="192" height="30mm"'), "size-in-pixels").message
    assert "67.73 x 30.00 mm at 72, 54.19 x 30.00 mm at 90 px per inch" in message


def test_a_known_paper_is_named():
    message = told(sized('width="595.276" height="841.89"'), "size-in-pixels").message
    assert "210.00 x 297.00 mm (A4) at 72" in message


def test_a_side_that_is_missing_hangs_on_no_px():
    finding = told(sized('width="40mm"'), "assumed-scale")
    assert "px per inch" not in finding.message
    assert finding.severity == "warn"
    assert finding.line == 1
