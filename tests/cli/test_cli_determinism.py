"""The same input gives the same bytes: whatever the hash seed, locale, time zone, folder, workers.

One locked set of libraries is taken for granted.
"""

from __future__ import annotations

import locale
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.series.beds import bed, tree

ROOT = Path(__file__).parents[2]
RECIPE = """\
recipe: 1
machine: bench.yaml
part: {outline: [40 mm, 20 mm]}
settings:
  engrave: {power: 50 %, speed: 500 mm/s, pitch: 0.1 mm}
passes:
  - merge
  - tag-power: {by: width, levels: 3, powers: [90 %, 95 %, 100 %]}
  - equalize-width: {clearance: 2 mm, bar: 0.6 mm}
"""
OUTPUTS = ("--overlay", "o.svg", "--sheet", "s.html", "--report", "r.json")


def here(name: str) -> bool:
    """Whether this machine has a locale."""
    before = locale.setlocale(locale.LC_ALL)
    try:
        locale.setlocale(locale.LC_ALL, name)
    except locale.Error:
        return False
    finally:
        locale.setlocale(locale.LC_ALL, before)
    return True


SETTINGS = {
    "plain": {"PYTHONHASHSEED": "0", "LC_ALL": "C", "TZ": "UTC"},
    "another seed": {"PYTHONHASHSEED": "4242", "LC_ALL": "C.UTF-8", "TZ": "Pacific/Apia"},
    "decimal commas": {"PYTHONHASHSEED": "7", "LC_ALL": "de_DE.UTF-8", "TZ": "Asia/Kathmandu"},
    "small letters": {"PYTHONHASHSEED": "8", "LC_ALL": "tr_TR.UTF-8", "TZ": "Asia/Kathmandu"},
}


def evenmark(folder: Path, settings: dict[str, str], *arguments: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "preprocess", *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT), **settings},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr


@pytest.fixture(scope="module")
def beds(tmp_path_factory):
    """Two equal beds in folders of other names."""
    folders = tmp_path_factory.mktemp("bed"), tmp_path_factory.mktemp("another-bed-elsewhere")
    for folder in folders:
        bed(folder, many=3)
        (folder / "label.yaml").write_text(RECIPE, "utf-8")
    return folders


@pytest.fixture(scope="module")
def plain(beds):
    """The outputs of a run in plain settings."""
    return run(beds[0], beds[0], "label.yaml", "drawings/leaf-00.svg", "plain")


def run(folder: Path, start: Path, recipe: str, design: str, how: str) -> dict[str, bytes]:
    out = folder / how.replace(" ", "-")
    out.mkdir()
    outputs = [str(out / name) if "." in name else name for name in OUTPUTS]
    evenmark(start, SETTINGS[how], "run", recipe, design, "-o", str(out / "l.svg"), *outputs)
    return tree(out)


@pytest.mark.parametrize("how", [name for name in SETTINGS if name != "plain"])
def test_run_from_another_folder_in_another_setting(beds, plain, how):
    if "_" in SETTINGS[how]["LC_ALL"] and not here(SETTINGS[how]["LC_ALL"]):
        pytest.skip(f"this machine has no locale {SETTINGS[how]['LC_ALL']}")
    folder = beds[1]
    recipe, design = str(folder / "label.yaml"), str(folder / "drawings" / "leaf-00.svg")
    other = run(folder, Path("/"), recipe, design, how)
    assert other.keys() == plain.keys() == {"l.svg", "o.svg", "s.html", "r.json"}
    for name, data in plain.items():
        assert other[name] == data, name


def test_series_with_one_worker_and_with_two(beds, plain):
    trees = []
    for folder, workers, how in zip(beds, "12", ("plain", "another seed"), strict=True):
        options = ("-d", "out", "--report", "--workers", workers)
        evenmark(folder, SETTINGS[how], "series", "label.yaml", "drawings/*.svg", *options)
        trees.append(tree(folder / "out"))
    assert trees[0] == trees[1]
    assert len(trees[0]) == 7
    assert trees[0]["leaf-00.laser.svg"] == plain["l.svg"]
