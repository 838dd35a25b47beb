"""Carry out damaged recipes: artwork or an answer in words each time, and work that ends.

usage: python -m tests.fuzz_runs SECONDS SEED [--inputs N] [--keep OUT]

The recipes of the pass cases are damaged as in tests/fuzz_yaml.py, and those that can still be read
rewrite their drawing, with prediction, overlay and report, within 20 s of processor time and 2 GiB.
A refusal is right; a broken promise or any other exception is a failure. The same seed gives the
same inputs.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from preprocess.pipeline import convert, make_overlay, make_report, predict_both
from preprocess.recipe.load import load_recipe
from tests import fuzz_yaml
from tests.fuzz_yaml import FIXTURES, fuzz, parser_of

if TYPE_CHECKING:
    from pathlib import Path

fuzz_yaml.SLOW_S, fuzz_yaml.MOST_MEMORY = 20, 3 * 2**30


def run(text: str, path: Path) -> None:
    loaded = load_recipe(path, text)
    design = path.with_name("in.svg")
    result = convert(loaded, design.read_bytes(), design.name)
    make_report(result, loaded, design.name, predict_both(result))
    make_overlay(result, design.name)


def main(arguments: list[str]) -> int:
    args = parser_of(__doc__).parse_args(arguments)
    paths = sorted((FIXTURES / "passes").rglob("recipe.yaml"))
    return fuzz(args, [(path, path.read_text("utf-8")) for path in paths], lambda *_: run)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
