"""The parser of the look back: it takes the writer's dialect, and calls the rest foreign."""

from __future__ import annotations

import pytest

from preprocess.write.verify.parsing import ForeignMarkup, parse_written

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'version="1.1" width="20mm" height="10mm" viewBox="0 0 20 10">'
)
SPLINTER = (
    '<path id="splinter" fill="#123456" fill-rule="evenodd" stroke="none" d="M1 1 L2 1 L2 2 Z"/>'
)
VEIN = '<path id="vein" fill="none" stroke="#654321" stroke-width="0.1" d="M1 1 L2 -1.5"/>'
PLACE = 'x="1" y="2" width="3" height="4"'
PHOTO = f'<image id="photo" {PLACE} preserveAspectRatio="none" xlink:href="data:,"/>'


def layer(*inside, title="fronds"):
    return f'<g id="a"><title>{title}</title>{"".join(inside)}</g>'


def parsed(*groups):
    return parse_written(f"{HEAD}{''.join(groups)}</svg>".encode())


def test_all_of_the_dialect():
    drawing = parsed(layer(SPLINTER, VEIN), layer(PHOTO, title="pictures"))
    assert (drawing.size, drawing.view) == (("20mm", "10mm"), "0 0 20 10")
    fronds, pictures = drawing.layers
    assert [path.id for path in fronds.paths] == ["splinter", "vein"]
    splinter, vein = fronds.paths
    assert (splinter.fill, splinter.rule, splinter.stroke) == ("#123456", "evenodd", "none")
    assert (vein.fill, vein.rule, vein.stroke) == ("none", "", "#654321")
    [(points, closed)] = splinter.subpaths
    assert points.tolist() == [[1, 1], [2, 1], [2, 2]]
    assert closed
    [(points, closed)] = vein.subpaths
    assert points.tolist() == [[1, 1], [2, -1.5]]
    assert not closed
    [photo] = pictures.images
    assert photo.corners.tolist() == [[1, 2], [4, 2], [4, 6], [1, 6]]
    assert (fronds.images, pictures.paths) == ((), ())


def test_a_picture_under_a_transform_is_turned_about_the_corner():
    """x' = -y + 9, y' = x + 1: a quarter turn, worked out by hand."""
    turned = PHOTO.replace(PLACE, f'{PLACE} transform="matrix(0 1 -1 0 9 1)"')
    [pictures] = parsed(layer(turned)).layers
    assert pictures.images[0].corners.tolist() == [[7, 2], [7, 5], [3, 5], [3, 2]]


@pytest.mark.parametrize(
    ("groups", "said"),
    [
        ([SPLINTER], "path stands inside svg"),
        ([PHOTO], "image stands inside svg"),
        ([layer(layer(SPLINTER))], "g stands inside g"),
        (["<title>a</title>"], "title stands inside svg"),
        ([layer("<rect/>")], "unexpected element"),
        ([layer('<path xmlns="urn:other" d="M0 0 L1 1"/>')], "unexpected element"),
        ([layer(SPLINTER.replace("id=", 'style="" id='))], "unexpected attribute 'style' on path"),
        ([layer(PHOTO.replace('"none"', '"xMidYMid"'))], "a picture keeps a ratio of its own"),
        ([layer(PHOTO.replace('y="2"', 'y="2px"'))], "a picture lies at"),
        ([layer(PHOTO.replace(PLACE, f'{PLACE} transform="rotate(9)"'))], "unexpected transform"),
        ([layer(SPLINTER.replace("M1 1", "m1 1"))], "unexpected path data near 'm1 1 L2 1 L2 2 Z'"),
        ([layer(SPLINTER.replace("L2 2 Z", "L2 2 Z X"))], "unexpected path data near ' X'"),
        ([layer(SPLINTER.replace("L2 1", "L2"))], "unexpected path data"),
        ([layer(SPLINTER.replace("L2 1", "L2 1e3"))], "unexpected path data"),
        ([layer(SPLINTER.replace("L2 1", "L02 1"))], "unexpected path data"),
        (["<g>"], "the file is no XML"),
    ],
)
def test_anything_else_is_foreign(groups, said):
    with pytest.raises(ForeignMarkup) as caught:
        parsed(*groups)
    assert said in str(caught.value)


def test_what_is_near_a_fault_is_shown_and_no_more():
    long = SPLINTER.replace("M1 1", "x" + "1" * 50)
    with pytest.raises(ForeignMarkup, match=r"near 'x1{29}'$"):
        parsed(layer(long))


def test_entities_are_not_followed():
    bomb = '<!DOCTYPE svg [<!ENTITY a "fronds">]>'
    drawing = parse_written(f"{bomb}{HEAD}{layer(SPLINTER, title='&a;')}</svg>".encode())
    assert drawing.layers[0].title == ""
