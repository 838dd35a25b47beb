"""Trays: closed, parts go in and lie where they are marked, cards lie under all bars."""

from __future__ import annotations

from dataclasses import replace

import manifold3d
import numpy as np
import pytest
import shapely
import trimesh

from preprocess.errors import Refusal
from preprocess.geometry.base.affine import map_points
from preprocess.geometry.relief.heights import area_above
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.shape import Shape
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.part import Part, Up
from preprocess.read.mesh.stl import read_stl
from preprocess.tray.measures import TrayMeasures
from preprocess.tray.tray import make_tray
from tests.geometry.relief.solids import LETTERS, lettered, prism, triangles
from tests.geometry.relief.test_layers import uses
from tests.read.part.parts import seen

FLOOR = 1.2


def _turned(mesh, degrees):
    lean = np.radians(degrees)
    cos, sin = np.cos(lean), np.sin(lean)
    return mesh @ np.array([[cos, 0, sin], [0, 1, 0], [-sin, 0, cos]]).T


SHORT = shapely.Point(0, 0).buffer(9, quad_segs=8)

MODELS = {
    "label": seen(triangles(lettered()), in_focus=0.3),
    "lettered underside": seen(triangles(lettered()), up=Up.MINUS_Z, in_focus=0.3),
    "slanted": seen(_turned(triangles(prism(SHORT, 0, 3)), 20), up=Up.FACE, in_focus=0.3),
}
POSES = {
    "one": ((1.0, 0.0, 0.0, 1.0, 60.0, 40.0),),
    "turned": ((0.8, 0.6, -0.6, 0.8, 60.0, 40.0),),
    "four": tuple((1.0, 0.0, 0.0, 1.0, x, y) for y in (40.0, 80.0) for x in (60.0, 130.0)),
}
BARS = shapely.MultiPolygon([shapely.box(92.5, 30, 95, 50), shapely.box(25, 30, 27.5, 50)])


def _artwork(model, poses, bars=None):
    parts = tuple(
        shapely.transform(model.relief.outline, lambda p, pose=pose: map_points(p, pose))
        for pose in poses
    )
    marks = shapely.MultiPolygon([shapely.box(50, 35, 70, 45)])
    shape = Shape(
        id="leaf", layer="leaf", operation=Operation.ENGRAVE, geometry=marks, sources=(), bars=bars
    )
    page = Page(width=200, height=120)
    return Artwork(page=page, shapes=(shape,), layers=(), parts=parts, poses=poses)


def _tray(model, poses, bars=None, **measures):
    bench = Bench(parts=(model.part,), reliefs=(model.relief,))
    artwork = _artwork(model, poses, bars)
    return make_tray(
        artwork, bench, (model.solid,), TrayMeasures(**measures), title="label", seats=len(poses)
    )


def _solid(mesh):
    places, number = np.unique(np.round(mesh, 5).reshape(-1, 3), axis=0, return_inverse=True)
    faces = number.reshape(-1, 3).astype(np.uint32)
    solid = manifold3d.Manifold(manifold3d.Mesh(places.astype(np.float32), faces))
    assert solid.status() == manifold3d.Error.NoError
    return solid


def _read(tray):
    return read_stl(tray.stl, "tray.stl").triangles


def _laid(model, pose, tray):
    """The part where it stands in the tray, in the coordinates of the STL."""
    flat = map_points(model.solid.reshape(-1, 3)[:, :2], pose)
    left, _, _, bottom = shapely.total_bounds([layer.area for layer in tray.layers])
    mesh = np.column_stack((flat[:, 0] - left, bottom - flat[:, 1], model.solid[:, :, 2].ravel()))
    return mesh.reshape(-1, 3, 3)[:, ::-1] + [0, 0, FLOOR]


HELD = [("label", "turned"), ("lettered underside", "one"), ("slanted", "one")]


@pytest.fixture(scope="module", params=HELD, ids=" ".join)
def held(request):
    name, poses = request.param
    model = MODELS[name]
    return model, POSES[poses], _tray(model, POSES[poses])


def test_the_mesh_is_closed_and_printable(held) -> None:
    _, _, tray = held
    mesh = _read(tray)
    places, number = np.unique(mesh.reshape(-1, 3), axis=0, return_inverse=True)
    faces = number.reshape(-1, 3)
    one = trimesh.Trimesh(places, faces, process=False)
    assert one.is_watertight
    assert one.is_winding_consistent
    assert uses(faces) == {2}
    assert one.bounds[0] == pytest.approx([0, 0, 0], abs=1e-3)
    volume = sum(layer.area.area * (layer.high - layer.low) for layer in tray.layers)
    assert _solid(mesh).volume() == pytest.approx(volume, abs=2)


def test_the_part_goes_in_and_is_held(held) -> None:
    """No overlap all the way down, nor when pushed aside by less than the play; then there is."""
    model, poses, tray = held
    around = _solid(_read(tray))
    part = _solid(_laid(model, poses[0], tray))
    for up in (0.01, 0.4, 2.0):
        assert (around ^ part.translate((0, 0, up))).volume() < 0.01, up
    for x, y in ((0.17, 0), (0, -0.17)):
        assert (around ^ part.translate((x, y, 0.1))).volume() < 0.02, (x, y)
    assert (around ^ part.translate((0.3, 0, 0.1))).volume() > 0.1
    dropped = (around ^ part.translate((0, 0, -0.2))).volume()
    assert dropped > 0.05


def test_the_marked_face_lies_level(held) -> None:
    model, poses, tray = held
    mesh = _laid(model, poses[0], tray)
    top = area_above(mesh, FLOOR + model.relief.plane - 0.01)
    assert top.area >= 0.5 * model.relief.flat.area


def test_no_wall_is_thinner_than_a_nozzle(held) -> None:
    _, _, tray = held
    for layer in tray.layers:
        opened = layer.area.buffer(-0.19, join_style="mitre").buffer(0.191, join_style="mitre")
        assert shapely.difference(layer.area, opened).buffer(-0.01).area < 0.01


def test_pockets_of_a_plain_part_have_the_gap_that_was_asked_for() -> None:
    for gap in (0.1, 0.2, 0.35):
        tray = _tray(MODELS["label"], POSES["one"], clearance=gap)
        (layer,) = [one for one in tray.layers if one.low < 2.5 < one.high]
        walls = layer.area.boundary
        part = shapely.transform(
            MODELS["label"].relief.outline, lambda p: map_points(p, POSES["one"][0])
        )
        outer = shapely.Polygon(part.geoms[0].exterior)
        assert outer.boundary.distance(walls) == pytest.approx(gap, abs=0.005)


def test_copies_have_seats_with_numbers() -> None:
    tray = _tray(MODELS["label"], POSES["four"])
    around = _solid(_read(tray))
    for pose in POSES["four"]:
        part = _solid(_laid(MODELS["label"], pose, tray))
        assert (around ^ part.translate((0, 0, 0.01))).volume() < 0.01
    plan = tray.plan.decode()
    assert [plan.count(f">{n}</text>") for n in (1, 2, 3, 4, 5)] == [1, 1, 1, 1, 0]


def test_every_bar_lies_over_card_flush_with_the_marked_surface() -> None:
    tray = _tray(MODELS["label"], POSES["one"], BARS, card=0.6)
    top = next(one for one in tray.layers if one.low < FLOOR + 3 - 0.6 + 0.05 < one.high)
    below = next(one for one in tray.layers if one.low < FLOOR + 3 - 0.6 - 0.05 < one.high)
    assert shapely.intersection(top.area, BARS.buffer(1.9, join_style="mitre")).area < 1e-3
    assert shapely.difference(BARS, below.area).area < 1e-3
    assert "tray-card-not-flush" not in {f.code for f in tray.findings}


def test_a_bar_over_a_pocket_stops() -> None:
    bars = shapely.MultiPolygon([shapely.box(89, 30, 92, 50)])
    tray = _tray(MODELS["label"], POSES["one"], bars)
    (found,) = [f for f in tray.findings if f.code == "tray-bar-off-the-card"]
    assert found.severity == "stop"


def test_a_shallow_tray_tells_that_its_card_lies_low() -> None:
    tray = _tray(MODELS["label"], POSES["one"], BARS, depth=1.0)
    (found,) = [f for f in tray.findings if f.code == "tray-card-not-flush"]
    assert "1.40 mm below" in found.message


def test_a_drawn_part_is_held_by_its_outline_and_height() -> None:
    part = Part(outline="#edge", height=2.0)
    artwork = replace(_artwork(MODELS["label"], POSES["one"]), poses=())
    tray = make_tray(artwork, Bench(parts=(part,)), (None,), TrayMeasures(), title="label")
    assert tray.layers[-1].high == pytest.approx(3.2)


def test_what_cannot_be_held_is_refused() -> None:
    artwork = _artwork(MODELS["label"], POSES["one"])
    with pytest.raises(Refusal, match="names no part"):
        make_tray(replace(artwork, parts=()), Bench(), (), TrayMeasures(), title="x")
    bench = Bench(parts=(Part(outline="#edge"),))
    with pytest.raises(Refusal, match="height of the part is unknown"):
        make_tray(replace(artwork, poses=()), bench, (None,), TrayMeasures(), title="x")
    with pytest.raises(Refusal, match="scaled to 2 of its size"):
        _tray(MODELS["label"], ((2.0, 0.0, 0.0, 2.0, 60.0, 40.0),))


def test_the_same_tray_has_the_same_bytes() -> None:
    one, other = (_tray(MODELS["label"], POSES["turned"], BARS) for _ in range(2))
    assert one.stl == other.stl
    assert one.plan == other.plan


def test_letters_have_room_in_the_floor() -> None:
    model = MODELS["lettered underside"]
    tray = _tray(model, POSES["one"])
    (layer,) = [one for one in tray.layers if one.low <= FLOOR + 0.5 < one.high]
    assert layer.area.area > shapely.Polygon(model.relief.outline.geoms[0].exterior).area * 0.5
    assert LETTERS.area < 200
