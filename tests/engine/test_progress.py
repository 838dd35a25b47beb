"""A memory of steps: the same output, and nothing runs twice."""

from __future__ import annotations

from preprocess.engine import progress
from preprocess.engine.progress import StepMemory
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe

LEAVES = b"""<svg xmlns="http://www.w3.org/2000/svg" width="24mm" height="20mm" viewBox="0 0 24 20">
  <path d="M3 3 Q8 4 17 3.4 Q13 8 11 15 Q9 8 3 3 Z"/><path d="M18 8 H22 V13 H18 Z"/></svg>"""
RECIPE = """recipe: 1
settings: {engrave: {power: 60 %, speed: 400 mm/s, pitch: 0.1 mm, direction: one-way}}
passes:
  - merge
  - inset-tips: {narrower_than: 0.4 mm, by: 0.05 mm}
"""
ROUNDS = RECIPE + "  - interleave: {colours: 2}\n"


def converted(text, memory=None):
    return convert(load_recipe(None, text), LEAVES, "leaves.svg", memory=memory)


def test_steps_that_ran_already_do_not_run_again(monkeypatch):
    ran = []
    run = progress.run_step
    monkeypatch.setattr(progress, "run_step", lambda s, *more: ran.append(s.name) or run(s, *more))
    memory = StepMemory()
    for text in (RECIPE, ROUNDS, ROUNDS):
        converted(text, memory)
    assert ran == ["merge", "inset-tips", "interleave"]
    assert converted(ROUNDS, memory).data == converted(ROUNDS).data


def test_findings_and_ledger_are_those_of_the_whole_run():
    memory = StepMemory()
    converted(RECIPE, memory)
    one, other = converted(ROUNDS, memory), converted(ROUNDS)
    assert one.findings == other.findings
    assert one.ledger == other.ledger
    assert one.amounts == other.amounts


def test_other_settings_or_parameters_run_anew():
    memory = StepMemory()
    converted(RECIPE, memory)
    for text in (RECIPE.replace("60 %", "50 %"), RECIPE.replace("0.05", "0.08")):
        assert converted(text, memory).data == converted(text).data
