"""Embedded pictures: what is taken, how it is placed, and what is left out with which words."""

import base64
import io

import pytest
from PIL import Image

from preprocess.model.artwork.artwork import Drawing
from preprocess.model.artwork.picture import Images
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.paint.rasters import embedded_raster
from preprocess.read.reader import read
from tests.read.reading import FIXTURES, codes, read_sheet


def pixels(kind="PNG", size=(4, 2), **more):
    picture = Image.new("RGB", size, (90, 120, 60))
    out = io.BytesIO()
    picture.save(out, kind, **more)
    return out.getvalue()


def url(data, media="image/png"):
    return f"data:{media};base64,{base64.b64encode(data).decode()}"


PNG = url(pixels())


def image(attributes, href=PNG):
    return f'<image id="photo" {attributes} href="{href}"/><rect width="5" height="5"/>'


def taken(body, **wanted):
    (picture,) = read_sheet(body, **wanted).artwork.pictures
    return picture


@pytest.mark.parametrize(
    ("kind", "more"),
    [
        ("PNG", {}),
        ("GIF", {}),
        ("JPEG", {}),
        ("JPEG", {"progressive": True, "comment": b"moth"}),
        ("WEBP", {}),
        ("WEBP", {"lossless": True}),
        ("WEBP", {"exif": b"Exif\0\0II*\0\x08\0\0\0\0\0"}),
    ],
)
@pytest.mark.parametrize("size", [(4, 2), (300, 700)])
def test_type_and_size_come_from_the_bytes(kind, more, size):
    """Another library wrote them, and knows how large they are."""
    data = pixels(kind, size, **more)
    raster = embedded_raster(url(data, "image/anything"))
    assert raster.media == f"image/{kind.lower()}"
    assert raster.pixels == size
    assert base64.b64decode(raster.data) == data


@pytest.mark.parametrize(
    "href",
    [
        "data:image/svg+xml,%3Csvg/%3E",
        url(b"<svg xmlns='http://www.w3.org/2000/svg'/>"),
        url(b"\x89PNG\r\n\x1a\n"),
        url(b"\xff\xd8\xff\xd9"),
        url(b"RIFF\0\0\0\0WAVEfmt "),
        "data:image/png;base64,###",
        "data:image/png",
        "photo.png",
        "file:///etc/passwd",
    ],
)
def test_what_is_no_picture(href):
    assert embedded_raster(href) is None
    reading = read_sheet(image('width="5" height="5"', href))
    assert reading.artwork.pictures == ()
    assert "image-left-out" in codes(reading)


def test_damaged_headers_never_crash():
    for kind in ("PNG", "GIF", "JPEG", "WEBP"):
        data = pixels(kind)
        for end in range(len(data)):
            embedded_raster(url(data[:end]))


def test_line_breaks_in_the_data():
    text = base64.b64encode(pixels()).decode()
    broken = "&#10;".join(text[i : i + 20] for i in range(0, len(text), 20))
    assert taken(image('width="4" height="2"', f"data:image/png;base64,{broken}")).data == text


@pytest.mark.parametrize(
    ("attributes", "corner", "size"),
    [
        ('x="20" y="30" width="40" height="20"', (20, 30), (40, 20)),
        # 4 x 2 pixels in a square of 40: letter-boxed to 40 x 20, in the middle or at the top.
        ('width="40" height="40"', (0, 10), (40, 20)),
        ('width="40" height="40" preserveAspectRatio="xMidYMin"', (0, 0), (40, 20)),
        ('width="40" height="40" preserveAspectRatio="none"', (0, 0), (40, 40)),
        ('x="9"', (9, 0), (4, 2)),
        ('width="30"', (0, 0), (30, 15)),
        ('height="30"', (0, 0), (60, 30)),
        ('width="20" height="10" transform="translate(5 7) scale(2 3)"', (5, 7), (40, 30)),
    ],
)
def test_where_a_picture_lies(attributes, corner, size):
    picture = taken(image(attributes))
    assert picture.is_upright
    assert picture.corners[0] == pytest.approx(corner)
    assert picture.size == pytest.approx(size)


def test_a_turned_picture():
    picture = taken(image('width="40" height="20" transform="translate(50 10) rotate(90)"'))
    assert not picture.is_upright
    assert [v for corner in picture.corners for v in corner] == pytest.approx(
        [50, 10, 50, 50, 30, 50, 30, 10]
    )


def test_a_picture_is_told_of():
    reading = read_sheet("\n" + image('width="40" height="20"'))
    (finding,) = (f for f in reading.findings if f.code == "image-kept")
    assert finding.severity == "warn"
    assert "photo (line 2; 4 x 2 pixels)" in finding.message
    assert "another job" in finding.remedy


def test_dropped_when_the_recipe_says_so():
    reading = read_sheet(image('width="9" height="9"'), drawing=Drawing(images=Images.DROP))
    assert reading.artwork.pictures == ()
    assert codes(reading) == {"image-dropped"}


@pytest.mark.parametrize(
    ("attributes", "code"),
    [
        ('width="200" height="100"', "image-uncropped"),
        ('width="20" height="20" preserveAspectRatio="xMidYMid slice"', "image-uncropped"),
        ('width="20" height="10" opacity=".5"', "image-opaque"),
    ],
)
def test_what_cannot_be_carried(attributes, code):
    assert codes(read_sheet(image(attributes))) == {"image-kept", code}


def test_a_hidden_picture_is_left_alone():
    for how in ('display="none"', 'visibility="hidden"'):
        reading = read_sheet(image(f'width="9" height="9" {how}'))
        assert reading.artwork.pictures == ()
        assert codes(reading) == {"hidden"}


def test_a_picture_in_a_pattern_is_left_out_once():
    body = (
        '<pattern id="p" width="10" height="10" patternUnits="userSpaceOnUse">'
        f'<image width="9" height="9" href="{PNG}"/></pattern>'
        '<rect width="50" height="50" fill="url(#p)"/><rect x="60" width="5" height="5"/>'
    )
    reading = read_sheet(body)
    assert "image-left-out" in codes(reading)
    assert reading.artwork.pictures == ()


def test_a_picture_in_a_mask_gives_it_shades():
    body = f'<mask id="m"><image width="50" height="50" href="{PNG}"/></mask>'
    reading = read_sheet(body + '<rect width="20" height="20" mask="url(#m)"/>')
    assert "mask-ignored" in codes(reading)
    assert len(reading.artwork.shapes) == 1


def test_a_picture_counts_in_the_box_of_its_group():
    """A clip by shares of the box: the right half of 0…80 begins at 40."""
    body = (
        '<clipPath id="c" clipPathUnits="objectBoundingBox"><rect x=".5" width=".5" height="1"/>'
        '</clipPath><g clip-path="url(#c)"><rect width="60" height="10"/>'
        f'<image x="60" width="20" height="10" href="{PNG}"/></g>'
    )
    (shape,) = read_sheet(body).artwork.shapes
    assert shape.geometry.bounds == (40, 0, 60, 10)


def test_a_picture_used_twice_is_placed_twice():
    body = f'<defs><image id="photo" width="4" height="2" href="{PNG}"/></defs>'
    body += '<use href="#photo"/><use href="#photo" x="50" y="9"/><rect width="5" height="5"/>'
    one, two = read_sheet(body).artwork.pictures
    assert (one.corners[0], two.corners[0]) == ((0, 0), (50, 9))
    assert one.id != two.id


@pytest.mark.parametrize("name", ["clipped", "embedded"])
def test_fixtures_lie_where_they_are_drawn(name):
    data = (FIXTURES / "image" / f"{name}.svg").read_bytes()
    (picture,) = read(data, name, ReadingOptions()).artwork.pictures
    assert picture.corners[0] == (20, 30)
    assert picture.corners[2] == (60, 50)


@pytest.mark.parametrize(
    ("opacity", "faintest", "marked"),
    [(".05", 0.1, False), (".1", 0.1, True), (".3", 0.5, False), (".01", 0.0, True)],
)
def test_what_is_too_faint(opacity, faintest, marked):
    body = f'<rect id="veil" width="50" height="50" opacity="{opacity}"/>'
    reading = read_sheet(body, drawing=Drawing(faintest=faintest))
    assert len(reading.artwork.shapes) == int(marked)
    assert ("too-faint" in codes(reading)) is not marked


def test_faintness_is_the_product_of_all_opacities():
    body = (
        '<g opacity=".5">'
        '<rect id="a" width="9" height="9" fill="rgba(0,0,0,.5)" fill-opacity=".5"/>'
        '<path id="b" d="M0 50H90" stroke="#000" stroke-opacity=".3"/></g>'
    )
    reading = read_sheet(body, drawing=Drawing(faintest=0.14))
    (finding,) = (f for f in reading.findings if f.code == "too-faint")
    assert finding.elements == ("a",)
    assert "a (line 1; 12.5 % opacity)" in finding.message
    assert [shape.id for shape in reading.artwork.shapes] == ["b"]
