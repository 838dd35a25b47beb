"""What is written is read back as it was written: a second run changes no coordinate."""

import re

import pytest

from preprocess.cli.app import main
from tests.read.reading import FIXTURES

DRAWINGS = (
    "fill/evenodd_hole",
    "paint/white_over_black",
    "stroke/vertical_line",
    "path/packed_arc_flags",
    "style/specificity",
)


def paths(file):
    return sorted(re.findall(r' d="([^"]*)"', file.read_text("utf-8")))


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_second_run_writes_the_same_paths(name, tmp_path, monkeypatch):
    recipe = tmp_path / "plain.yaml"
    recipe.write_text("recipe: 1\npasses: []\n", "utf-8")
    once, twice = tmp_path / "once.svg", tmp_path / "twice.svg"
    for source, out in ((FIXTURES / f"{name}.svg", once), (once, twice)):
        command = ["evenmark", "run", str(recipe), str(source), "-o", str(out), "--quiet"]
        monkeypatch.setattr("sys.argv", command)
        with pytest.raises(SystemExit) as ended:
            main()
        assert not ended.value.code
    assert paths(once)
    assert paths(once) == paths(twice)
