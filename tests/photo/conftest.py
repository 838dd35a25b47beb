"""Photos made once for all tests of this room: pages, coupons and a phone by calculation."""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.photo.photo_reading import read_photo
from preprocess.photo.reading.picture import read_picture
from tests.photos.__main__ import Bench, frame_of
from tests.photos.scenes import PLATE

CLEAR = {"glare": 0.0, "blur": 0.7, "exposure": 0.75, "curve": 0.3}


@pytest.fixture(scope="session")
def bench():
    return Bench()


@pytest.fixture(scope="session")
def page():
    return frame_of(PLATE)


def taken(bench, page, kind, seed, **more):
    return bench.scene(np.random.default_rng(seed), page, kind, **{"wide": 1200, **more})


@pytest.fixture(scope="session")
def blades(bench, page):
    return taken(bench, page, "blades", 4, conditions=CLEAR)


@pytest.fixture(scope="session")
def upside_down(bench, page):
    return taken(bench, page, "row-span", 6, conditions=CLEAR, turn=178.0)


@pytest.fixture(scope="session")
def under_a_lamp(bench, page):
    lamp = {"glare": 0.12, "lamp": (0.12, -0.05, 0.06, 0.06)}
    return taken(bench, page, "row-span", 7, conditions={**CLEAR, **lamp})


@pytest.fixture(scope="session")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("photos")


@pytest.fixture(scope="session")
def read(bench, folder):
    """Reads a scene as the product does; each scene once."""
    known = {}

    def reading(scene, kind):
        if id(scene) not in known:
            path = folder / f"{kind}-{len(known)}.jpg"
            path.write_bytes(scene.shot.data)
            picture = read_picture(path)
            known[id(scene)] = (
                path,
                picture,
                read_photo(picture, bench.drawings[kind], scene.thickness),
            )
        return known[id(scene)]

    return reading
