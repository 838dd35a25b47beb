"""The package of docs/use/plugins.md, installed for real; and what `check_pass` finds out."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, ClassVar

import numpy as np
import pytest
import shapely

from preprocess.api import (
    FILLED,
    MERGED,
    SEPARATE,
    Change,
    Contract,
    Doc,
    Length,
    Outcome,
    Params,
    amount_of,
    check_pass,
    read_artwork,
    warn,
)

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "tests" / "sample_plugin"
LABEL = """<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="10mm" viewBox="0 0 30 10">
<rect id="seed" width="5" height="5"/><rect id="speck" x="10" width="0.2" height="0.2"/></svg>"""
RECIPE = "recipe: 1\ndesign: label.svg\npasses:\n  - drop-specks: {smaller_than: 0.25 mm}\n"


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """A folder into which the sample package was installed."""
    folder = tmp_path_factory.mktemp("site")
    pip = [sys.executable, "-m", "pip", "install", "-q", "--disable-pip-version-check"]
    alone = ["--no-deps", "--no-build-isolation", "--no-index", "--target", str(folder)]
    subprocess.run([*pip, *alone, str(SAMPLE)], check=True, capture_output=True)
    return folder


def evenmark(site, folder, *arguments):
    return subprocess.run(
        [sys.executable, "-m", "preprocess", *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(site), str(ROOT)])},
        capture_output=True,
        text=True,
        check=False,
    )


def test_an_installed_plugin_is_listed_explained_and_run(site, tmp_path):
    (tmp_path / "label.svg").write_text(LABEL, "utf-8")
    (tmp_path / "label.yaml").write_text(RECIPE, "utf-8")
    assert "drop-specks" in evenmark(site, tmp_path, "passes").stdout
    assert "side of the square" in evenmark(site, tmp_path, "passes", "drop-specks").stdout
    done = evenmark(site, tmp_path, "run", "label.yaml", "--no-heat")
    assert done.returncode == 0, done.stderr
    assert "left out 1 shapes below 0.25 mm" in done.stderr
    written = (tmp_path / "label.laser.svg").read_text("utf-8")
    assert 'id="seed"' in written
    assert "speck" not in written


def test_its_own_tests_pass(site):
    quiet = ["-q", "-c", os.devnull, "-p", "no:cacheprovider"]
    done = subprocess.run(
        [sys.executable, "-m", "pytest", *quiet, str(SAMPLE)],
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(site), str(ROOT)])},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout


def test_it_imports_nothing_of_ours_but_the_api():
    for path in SAMPLE.rglob("*.py"):
        nodes = list(ast.walk(ast.parse(path.read_text("utf-8"))))
        named = {n.module for n in nodes if isinstance(n, ast.ImportFrom)}
        named |= {a.name for n in nodes if isinstance(n, ast.Import) for a in n.names}
        assert {name for name in named if name.startswith("preprocess")} <= {"preprocess.api"}


def test_its_types_are_right(site, tmp_path):
    """With mypy as an author runs it: strict, and without the settings of this repository."""
    mypy = [sys.executable, "-m", "mypy", "--strict", "--follow-imports=silent"]
    alone = [f"--config-file={os.devnull}", f"--cache-dir={tmp_path}"]
    done = subprocess.run(
        [*mypy, *alone, str(site / "nursery_passes"), str(SAMPLE / "test_drop_specks.py")],
        env={**os.environ, "MYPYPATH": os.pathsep.join([str(site), str(ROOT)])},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout


def test_the_page_lists_the_files_that_there_are():
    page = (ROOT / "docs" / "use" / "plugins.md").read_text("utf-8")
    (listed,) = re.findall(r"```text\n(.*?)```", page, re.DOTALL)
    there = {
        p.relative_to(SAMPLE).as_posix() for p in SAMPLE.rglob("*") if p.suffix in {".py", ".toml"}
    }
    assert set(listed.split()) == there


@pytest.mark.parametrize(
    ("language", "file"),
    [
        ("toml", "pyproject.toml"),
        ("python", "nursery_passes/drop_specks.py"),
        ("python", "test_drop_specks.py"),
    ],
)
def test_the_page_shows_the_files_as_they_are(language, file):
    page = (ROOT / "docs" / "use" / "plugins.md").read_text("utf-8")
    shown = re.findall(rf"```{language}\n(.*?)```", page, re.DOTALL)
    assert (SAMPLE / file).read_text("utf-8") in shown


def test_the_developers_page_shows_the_same_pass():
    page = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    assert (SAMPLE / "nursery_passes" / "drop_specks.py").read_text("utf-8") in page


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift(Params):
    """Move all shapes to the right."""

    name: ClassVar = "shift"
    api: ClassVar = 1
    contract: ClassVar = Contract(keeps=frozenset({FILLED}))
    by: Annotated[Length, Doc("how far")] = 1.0

    def __call__(self, artwork, bench, /):
        return Outcome(artwork=replace(artwork, shapes=tuple(map(self._moved, artwork.shapes))))

    def _moved(self, shape):
        moved = shapely.transform(shape.geometry, lambda p: p + np.array([self.by, 0]))
        return replace(shape, geometry=moved)


class Twice(Shift):
    """Doubles shapes without a word to the ledger."""

    def __call__(self, artwork, bench, /):
        more = tuple(replace(s, id=f"{s.id}-2") for s in artwork.shapes)
        return Outcome(artwork=replace(artwork, shapes=(*artwork.shapes, *more)))


class Boasts(Shift):
    """Promises one path to a layer, and gives as many as before."""

    contract: ClassVar = Contract(gives=frozenset({MERGED}))

    def __call__(self, artwork, bench, /):
        return Outcome(artwork=artwork)


class Loses(Shift):
    """Keeps a fact in words only: puts two areas into one shape."""

    contract: ClassVar = Contract(keeps=frozenset({SEPARATE}))

    def __call__(self, artwork, bench, /):
        one, two = artwork.shapes
        both = shapely.MultiPolygon([*one.geometry.geoms, *two.geometry.geoms])
        joined = replace(one, geometry=both, sources=one.sources + two.sources)
        return Outcome(artwork=replace(artwork, shapes=(joined,)))


class Twists(Shift):
    """Makes an area that crosses itself."""

    def __call__(self, artwork, bench, /):
        bow = shapely.MultiPolygon([shapely.Polygon([(0, 0), (4, 4), (4, 0), (0, 4)])])
        twisted = tuple(replace(s, geometry=bow) for s in artwork.shapes)
        changes = tuple(
            Change(layer=s.layer, removed=amount_of(s), added=amount_of(t), why="twisted")
            for s, t in zip(artwork.shapes, twisted, strict=True)
        )
        return Outcome(artwork=replace(artwork, shapes=twisted), changes=changes)


class Mumbles(Shift):
    """Warns without a remedy."""

    def __call__(self, artwork, bench, /):
        return Outcome(artwork=artwork, findings=(warn("hm", "something is odd", ""),))


class Wanders(Shift):
    """Makes something else each time."""

    times: ClassVar[list[int]] = []

    def __call__(self, artwork, bench, /):
        self.times.append(1)
        return Outcome(artwork=replace(artwork, page=replace(artwork.page, left=len(self.times))))


@dataclass(frozen=True, slots=True, kw_only=True)
class Silent(Shift):
    """Has a parameter without words."""

    much: int = 1


class Old(Shift):
    """Was written for passes of long ago."""

    api: ClassVar = 0


@pytest.mark.parametrize(
    ("broken", "sentence"),
    [
        (Shift(), "changed something when it ran again"),
        (Twice(), "does not balance its ledger"),
        (Boasts(), "promised that"),
        (Loses(), "promised that"),
        (Twists(), "made geometry that is not valid: seed"),
        (Mumbles(), "gives no remedy in its finding hm"),
        (Wanders(), "made something else of the same artwork"),
        (Silent(), "has no Doc for its parameter much"),
        (Old(), "is not written for version 1"),
    ],
    ids=lambda one: type(one).__name__ if isinstance(one, Params) else "",
)
def test_a_broken_promise_is_found(broken, sentence):
    with pytest.raises(AssertionError, match=sentence):
        check_pass(broken, *read_artwork(LABEL))


def test_a_pass_that_shifts_by_design_says_so():
    artwork, bench = read_artwork(LABEL)
    outcome = check_pass(Shift(by=2.0), artwork, bench, twice=False)
    assert outcome.artwork.shapes[0].geometry.bounds == pytest.approx((2, 0, 7, 5))
