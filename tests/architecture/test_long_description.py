"""The page for package indexes holds nothing that is broken outside the repository."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING

from tests import long_description

if TYPE_CHECKING:
    import pytest

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
LINK = re.compile(r"!?\[[^\]]*\](?:\(([^)]*)\)|\[[^\]]*\])|<(?:img|a) [^>]*>")


def test_without_an_address_it_has_no_links_and_no_pictures() -> None:
    assert long_description.HOME == ""
    page = (ROOT / PROJECT["project"]["readme"]).read_text("utf-8")
    prose = re.sub(r"^```.*?^```$|`[^`\n]*`", "", page, flags=re.DOTALL | re.MULTILINE)
    assert [found[0] for found in LINK.finditer(prose)] == []


def test_files_that_it_names_are_in_the_source_distribution() -> None:
    page = (ROOT / PROJECT["project"]["readme"]).read_text("utf-8")
    shipped = tuple(PROJECT["tool"]["hatch"]["build"]["targets"]["sdist"]["include"])
    named = set(re.findall(r"(?:docs|fixtures)/[\w/.-]*\w", page))
    assert len(named) > 10
    for path in named:
        assert (ROOT / path).exists(), path
        assert path.startswith(shipped), path


def test_with_an_address_all_links_are_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(long_description, "HOME", "https://example.org/evenmark/")
    page = long_description.page(ROOT)
    targets = re.findall(r"\]\(([^)]*)\)", page)
    assert len(targets) > 20
    assert all(target.startswith("https://") for target in targets)
