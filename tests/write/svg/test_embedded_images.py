"""Embedded pictures in the output: placed in mm, read back, drawn as they were meant."""

import base64
import io
from dataclasses import replace

import numpy as np
import pytest
import resvg_py
from PIL import Image
from shapely import MultiPolygon, box

from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.picture import Picture
from preprocess.model.artwork.settings import Layer, Operation
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read
from preprocess.write.svg.layer_colours import assign_colours
from preprocess.write.svg.svg_document import svg_bytes
from preprocess.write.verify.readback import disagreements
from tests.labels import shape
from tests.written_layers import read_back_shapes, written_figures

UPRIGHT = (40.0, 0.0, 0.0, 20.0, 12.5, 30.0)
TURNED = (0.0, 40.0, -20.0, 0.0, 60.0, 10.0)
MIRRORED = (-40.0, 0.0, 0.0, 20.0, 60.0, 30.0)
SKEWED = (40.0, 0.0, 10.0, 20.0, 10.0, 30.0)


def quarters():
    """Red, green, blue and black, clockwise from the upper left."""
    picture = Image.new("RGB", (2, 2))
    for at, colour in (((0, 0), "red"), ((1, 0), "lime"), ((1, 1), "blue"), ((0, 1), "black")):
        picture.paste(colour, (*at, at[0] + 1, at[1] + 1))
    out = io.BytesIO()
    picture.resize((64, 64), Image.Resampling.NEAREST).save(out, "PNG")
    return base64.b64encode(out.getvalue()).decode()


def artwork(matrix, page=None):
    picture = Picture(
        id="photo", matrix=matrix, media="image/png", pixels=(64, 64), data=quarters()
    )
    square = shape("a", "dots", Operation.ENGRAVE, MultiPolygon([box(1, 2, 3, 4)]))
    return Artwork(
        page=page or Page(width=100.0, height=80.0),
        shapes=(square,),
        layers=(Layer(name="dots", operation=Operation.ENGRAVE, settings={}),),
        pictures=(picture,),
    )


def colours(art):
    return assign_colours(output_layers(art), {}, None)[0]


def written(art):
    return svg_bytes(art, colours=colours(art))


def test_an_upright_picture_needs_no_transform():
    text = written(artwork(UPRIGHT)).decode()
    assert '<image id="photo" x="12.5" y="30" width="40" height="20" preserveA' in text
    assert "transform" not in text
    assert text.index("<path") < text.index('<g id="images">')


def test_without_pictures_nothing_is_written_of_them():
    data = written(replace(artwork(UPRIGHT), pictures=()))
    assert b"xlink" not in data
    assert data.count(b"<g ") == 1


@pytest.mark.parametrize("matrix", [UPRIGHT, TURNED, MIRRORED, SKEWED])
def test_what_was_written_is_what_was_meant(matrix):
    art = artwork(matrix, Page(width=110.0, height=90.0, left=-5.0, top=-7.0))
    data = written(art)
    assert disagreements(art, colours(art), data) == ()
    assert set(written_figures(data)) == set(read_back_shapes(data)) == {"dots"}


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'x="12.5"', b'x="12.6"'),
        (b'height="20"', b'height="20.01"'),
        (b"base64,iVBOR", b"base64,iVBOS"),
        (b'<image id="photo"', b'<image id="dots"'),
        (b' preserveAspectRatio="none"', b""),
        (b"<title>images", b"<title>dots"),
    ],
)
def test_damage_is_seen(old, new):
    art = artwork(UPRIGHT)
    data = written(art)
    assert old in data
    assert disagreements(art, colours(art), data.replace(old, new))


def test_a_lost_picture_is_seen():
    art = artwork(UPRIGHT)
    without = written(replace(art, pictures=()))
    assert disagreements(art, colours(art), without)
    assert disagreements(replace(art, pictures=()), colours(art), written(art))


@pytest.mark.parametrize("matrix", [UPRIGHT, TURNED, MIRRORED, SKEWED])
def test_another_renderer_shows_it_where_it_should_be(matrix):
    """The middle of each quarter has that quarter's colour."""
    png = resvg_py.svg_to_bytes(
        svg_string=written(artwork(matrix)).decode(), dpi=25.4, zoom=4, background="#fff"
    )
    shown = np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGB"))
    zoom = shown.shape[1] / 100
    a, b, c, d, e, f = matrix
    for u, v, colour in (
        (0.25, 0.25, (255, 0, 0)), (0.75, 0.25, (0, 255, 0)),
        (0.75, 0.75, (0, 0, 255)), (0.25, 0.75, (0, 0, 0)),
    ):  # fmt: skip
        x, y = (a * u + c * v + e) * zoom, (b * u + d * v + f) * zoom
        assert tuple(shown[int(y), int(x)]) == colour


@pytest.mark.parametrize("matrix", [UPRIGHT, TURNED, MIRRORED, SKEWED])
def test_our_reader_takes_it_as_it_was(matrix):
    art = artwork(matrix)
    once = written(art)
    again = read(once, "moth.svg", ReadingOptions()).artwork
    (picture,) = again.pictures
    assert picture.matrix == pytest.approx(matrix, abs=1e-4)
    assert picture.data == art.pictures[0].data
