"""The licence goes with what is shipped, and the table of packages says what theirs are."""

from __future__ import annotations

import re
import tarfile
import zipfile
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

import pytest
from hatchling import build

ROOT = Path(__file__).parents[2]
LICENCE = (ROOT / "docs" / "LICENSE").read_bytes()
DECISIONS = (ROOT / "docs" / "project" / "decisions.md").read_text("utf-8")
ROW = re.compile(r"^\| ([a-z][\w.-]+) \| ([^|]+) \| [^|]+ \| [^|]+ \|$", re.MULTILINE)
TABLE = dict(ROW.findall(DECISIONS))


@pytest.fixture
def root(monkeypatch):
    monkeypatch.chdir(ROOT)


@pytest.mark.usefixtures("root")
def test_the_wheel_holds_the_licence(tmp_path) -> None:
    wheel = zipfile.ZipFile(tmp_path / build.build_wheel(str(tmp_path)))
    (name,) = [n for n in wheel.namelist() if n.endswith("LICENSE")]
    assert wheel.read(name) == LICENCE
    (about,) = [n for n in wheel.namelist() if n.endswith("METADATA")]
    assert b"License-Expression: MIT\nLicense-File: docs/LICENSE\n" in wheel.read(about)


@pytest.mark.usefixtures("root")
def test_the_source_archive_holds_the_licence(tmp_path) -> None:
    with tarfile.open(tmp_path / build.build_sdist(str(tmp_path))) as archive:
        (name,) = [n for n in archive.getnames() if n.endswith("docs/LICENSE")]
        assert archive.extractfile(name).read() == LICENCE


def test_the_table_says_what_the_packages_say() -> None:
    """Against installed metadata; a classifier names a family, such as BSD, and no version."""
    compared = 0
    for package, said in TABLE.items():
        try:
            about = distribution(package).metadata
        except PackageNotFoundError:
            continue
        kinds = about.get_all("Classifier") or []
        families = [k.split(" :: ")[-1] for k in kinds if k.startswith("License :: ")]
        words = about.get("License-Expression") or " ".join(families)
        first = re.search(r"LGPL|MIT-CMU|MIT|BSD|MPL-2.0|Apache-2.0", words)
        if first:
            assert said.startswith(first[0]), (package, said, words)
            compared += 1
    assert compared > 20


def test_what_is_under_the_lgpl_is_said_plainly() -> None:
    assert TABLE["python-bidi"] == "LGPL-3.0"
    assert "GEOS, LGPL-2.1" in TABLE["shapely"]
    assert "under the LGPL" in DECISIONS
    shapely = distribution("shapely")
    bundled = next((f for f in shapely.files or () if f.name == "LICENSE_GEOS"), None)
    if bundled is not None:  # a wheel; built from source there is no GEOS inside
        assert "License: LGPLv2.1" in bundled.read_text("utf-8")
