"""The passes of a recipe, typed: each named one is imported, its parameters are checked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from preprocess.engine import registry
from preprocess.engine.step import Step
from preprocess.errors import Complaint, UserError
from preprocess.findings import note, warn
from preprocess.loading.schema.value_complaints import shown_value
from preprocess.loading.schema.value_reading import read_declared

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preprocess.findings import Finding
    from preprocess.loading.yaml.yaml_document import KeyPath, YamlDocument


SOLVES = "solve-power"
"""The pass that predicts heat only to set powers; it changes no shape."""


def read_steps(document: YamlDocument, held: Any) -> tuple[tuple[Step, ...], tuple[Complaint, ...]]:
    """Type the entries of `passes:`.

    Returns:
        The steps that are right, and every complaint about the others.
    """
    if not isinstance(held, list):
        found = f"passes is {'empty' if held is None else shown_value(held)}"
        remedy = "write each step on a line of its own, such as '- merge'"
        return (), (Complaint(found, remedy, document.at_key(("passes",))),)
    steps: list[Step] = []
    complaints: list[Complaint] = []
    for number, entry in enumerate(held):
        try:
            steps.append(_step(document, number, entry))
        except UserError as error:
            complaints.extend(error.complaints)
    return tuple(steps), tuple(complaints)


def notes_of_steps_off(steps: Iterable[Step]) -> list[Finding]:
    """A note for each step that is switched off."""
    remedy = "delete off: true to run it again"
    return [note("step-off", f"{step.name} is switched off", remedy) for step in steps]


def warnings_of_unsolved(steps: Iterable[Step]) -> list[Finding]:
    """A warning for each step that a run without heat leaves out."""
    remedy = "run it without --no-heat before you mark"
    return [
        warn("powers-not-solved", f"{step.name} needs heat: powers stay as they were", remedy)
        for step in steps
    ]


def _step(document: YamlDocument, number: int, entry: Any) -> Step:
    name, params = _named(document, number, entry)
    path: KeyPath = ("passes", number, name) if isinstance(entry, dict) else ("passes", number)
    place = document.at_key(path)
    cls = registry.load_pass(name, place=place)
    typed, complaints = read_declared(cls, document, path, params)
    if typed is None:
        raise UserError(complaints)
    keys = {key: document.at_key((*path, key)) for key in params}
    return Step(name=name, params=typed, place=place, path=path, keys=keys)


def _named(document: YamlDocument, number: int, entry: Any) -> tuple[str, Any]:
    """The name of a pass and its parameters; a name with nothing after it has none."""
    if isinstance(entry, str):
        return entry, {}
    if isinstance(entry, dict) and len(entry) == 1:
        [(name, params)] = entry.items()
        return name, {} if params is None else params
    place = document.at(("passes", number))
    if isinstance(entry, dict) and entry:
        first, *others = entry
        found = f"step {number + 1} holds the keys {', '.join(entry)} side by side"
        remedy = f"indent {', '.join(others)} below {first}, or start a step of its own with '-'"
        raise UserError(Complaint(found, remedy, place))
    found = f"step {number + 1} is {'empty' if not entry else shown_value(entry)}"
    raise UserError(Complaint(found, "write the name of a pass, such as '- merge'", place))
