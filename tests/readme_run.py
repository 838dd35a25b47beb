"""The summary of the fern's run, as the README quotes it.

``python -m tests.readme_run --write`` puts today's into the README.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.cli.summary import RunStory, summary_lines
from preprocess.pipeline import Conversion, convert, predict_both, prediction_findings
from preprocess.recipe.load import load_recipe

if TYPE_CHECKING:
    from preprocess.marking.prediction import Prediction

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
FERN = ROOT / "fixtures" / "jobs" / "fern" / "fern.yaml"
BEGINS = "in seconds and layers:\n\n```text\n"
OUTPUTS = ("fern.laser.svg", "fern.overlay.svg", "fern.report.json")


def quoted() -> list[str]:
    """The lines that the README shows."""
    return README.read_text("utf-8").partition(BEGINS)[2].partition("```")[0].splitlines()


def said(result: Conversion, predicted: tuple[Prediction, Prediction]) -> list[str]:
    """The lines that the run ends in."""
    story = RunStory(
        result=result,
        findings=(*result.findings, *prediction_findings(result, predicted[1])),
        predicted=predicted,
        total=predicted[1].schedule.total,
        paths=OUTPUTS,
    )
    return [f"{one.label}: {one.text}" if one.label else one.text for one in summary_lines(story)]


def main(arguments: list[str]) -> int:
    """Check or write."""
    loaded = load_recipe(FERN)
    result = convert(loaded, loaded.design.read_bytes(), "fern.svg")
    now = said(result, predict_both(result))
    if arguments == ["--write"]:
        start, begins, rest = README.read_text("utf-8").partition(BEGINS)
        ending = rest.partition("```")[2]
        README.write_text(f"{start}{begins}" + "\n".join(now) + f"\n```{ending}", "utf-8")
        return 0
    return int(now != quoted())


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
