"""The folder listing tells the story: rules of the house that no linter knows."""

from __future__ import annotations

import ast
import dataclasses
import os
import subprocess
import sys
from pathlib import Path
from typing import get_type_hints

import pytest

from preprocess.engine import registry
from preprocess.model.declared import Doc

ROOT = Path(__file__).parents[2]
SOURCES = sorted((ROOT / "preprocess").rglob("*.py"))
PASSES = sorted(registry.pass_names())


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_file_has_one_subject(path: Path) -> None:
    assert len(path.read_text("utf-8").splitlines()) <= 300


def test_only_show_prints() -> None:
    for path in SOURCES:
        if path.relative_to(ROOT).as_posix() == "preprocess/cli/show.py":
            continue
        calls = (
            n.func for n in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(n, ast.Call)
        )
        assert not [c for c in calls if isinstance(c, ast.Name) and c.id == "print"], path


def test_equal_values_keep_their_order_on_every_processor() -> None:
    """numpy's quick sort orders equals by the processor's registers, and so do scipy's extremes."""
    for path in SOURCES:
        for call in (n for n in ast.walk(ast.parse(path.read_text("utf-8"))) if _is_call(n)):
            name = call.func.attr
            stable = any(ast.unparse(k) == "kind='stable'" for k in call.keywords)
            assert name not in {"minimum_position", "maximum_position", "argpartition"}, path
            assert name != "argsort" or stable, f"{path}:{call.lineno}"


def _is_call(node: ast.AST) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)


def test_the_top_level_is_as_promised() -> None:
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.split("\n")
    top = {name.split("/")[0] for name in listed if name and not name.startswith(".")}
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "preprocess",
        "tests",
        "fixtures",
        "docs",
    }
    assert top <= allowed


@pytest.mark.parametrize("name", PASSES)
def test_a_pass_has_page_cases_and_documented_parameters(name: str) -> None:
    assert (ROOT / "docs" / "reference" / "passes" / f"{name}.md").is_file()
    cases = [case for case in (ROOT / "fixtures" / "passes" / name).iterdir() if case.is_dir()]
    assert len(cases) >= 3
    params = registry.load_pass(name)
    assert params.__doc__
    hints = get_type_hints(params, include_extras=True)
    for field in dataclasses.fields(params):
        assert any(isinstance(m, Doc) for m in hints[field.name].__metadata__), field.name


@pytest.mark.parametrize("arguments", [["--help"], ["passes"], ["passes", "no-such-pass"]])
def test_help_and_listing_start_without_heavy_libraries(arguments: list[str]) -> None:
    code = (
        "import sys\n"
        "from preprocess.cli.app import main\n"
        f"sys.argv = ['evenmark', *{arguments!r}]\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "heavy = {'shapely', 'numpy', 'scipy', 'lxml', 'pathops'} & set(sys.modules)\n"
        "sys.exit(f'imported {sorted(heavy)}' if heavy else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_a_command_that_a_test_starts_runs_this_tree(tmp_path: Path) -> None:
    """Whatever checkout is installed: tests/conftest.py sees to it."""
    done = subprocess.run(
        [sys.executable, "-m", "preprocess", "--version"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONVERBOSE": "1"},
        capture_output=True,
        text=True,
        check=True,
    )
    loaded = [line for line in done.stderr.splitlines() if "/preprocess/" in line]
    assert any("/preprocess/cli/app" in line for line in loaded)
    assert all(str(ROOT / "preprocess") in line for line in loaded)
