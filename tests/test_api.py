"""`preprocess.api`: every name is there, documented and typed, and docs/use/library.md runs."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from lxml import etree

from preprocess import api

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "docs" / "use" / "library.md").read_text("utf-8")


def test_the_blocks_of_the_page_run_one_after_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    blocks = re.findall(r"^```python\n(.*?)^```$", PAGE, re.DOTALL | re.MULTILINE)
    assert PAGE.count("```") == 2 * len(blocks), "each block is one of Python"
    names: dict[str, object] = {}
    for number, block in enumerate(blocks, 1):
        exec(compile(block, f"block {number}", "exec"), names)
    assert (tmp_path / "label.laser.svg").read_bytes() == names["result"].data
    picture = etree.fromstring(names["result"]._repr_svg_())
    assert picture.tag == "{http://www.w3.org/2000/svg}svg"


def test_the_page_names_everything_that_is_promised() -> None:
    table = PAGE.partition("| name | meaning |")[2]
    cells = [line.split("|")[1] for line in table.splitlines() if line.startswith("| `")]
    assert sorted(re.findall(r"`(\w+)`", " ".join(cells))) == sorted(api.__all__)


@pytest.mark.parametrize("name", api.__all__)
def test_a_name_is_there_and_says_what_it_is(name: str) -> None:
    value = getattr(api, name)
    assert not callable(value) or value.__doc__


def test_types_and_run_time_agree_where_a_name_comes_from() -> None:
    module = ast.parse((ROOT / "preprocess" / "api.py").read_text("utf-8"))
    (block, *_) = [n for n in module.body if isinstance(n, ast.If)]
    typed = {alias.name: node.module for node in block.body for alias in node.names}
    assert typed == api._ON_USE


def test_a_name_that_is_not_there_is_an_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'merge_all'"):
        api.merge_all  # noqa: B018


def test_heavy_libraries_wait_for_their_first_use() -> None:
    code = (
        "import sys, preprocess.api\n"
        "heavy = {'shapely', 'numpy', 'scipy', 'lxml', 'pathops', 'pydantic'} & set(sys.modules)\n"
        "sys.exit(f'imported {sorted(heavy)}' if heavy else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_the_wheel_ships_the_types(tmp_path: Path) -> None:
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(build, cwd=ROOT, check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    assert "preprocess/py.typed" in zipfile.ZipFile(wheel).namelist()
