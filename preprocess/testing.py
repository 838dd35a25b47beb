"""For authors of passes: read a drawing, run a pass on it, and prove that it keeps its promises.

Everything here raises AssertionError with one sentence, so that any test runner can use it. Names
in this module, in `preprocess.engine.contract`, `preprocess.engine.selection`, `preprocess.model`,
`preprocess.units`, `preprocess.findings` and `preprocess.errors` belong to version `API_VERSION` of
passes: they keep their meaning until that number changes.
"""

from __future__ import annotations

import copy
from dataclasses import fields, is_dataclass
from typing import TYPE_CHECKING, Any, get_type_hints

import numpy as np
import shapely

from preprocess.engine.contract import API_VERSION, Contract, Outcome, Params
from preprocess.engine.facts import CORE, facts_of
from preprocess.engine.ledger import imbalances, totals
from preprocess.findings import Severity
from preprocess.model.artwork.output import output_layers
from preprocess.model.bench.bench import Bench
from preprocess.model.declared import Doc
from preprocess.read.reader import read
from preprocess.recipe.load import load_recipe
from preprocess.write.svg.layer_colours import assign_colours
from preprocess.write.svg.svg_document import svg_bytes
from preprocess.write.verify.readback import disagreements

if TYPE_CHECKING:
    from preprocess.model.artwork.artwork import Artwork

__all__ = [
    "API_VERSION",
    "check_declaration",
    "check_outcome",
    "check_pass",
    "read_artwork",
]

_SAME = 1e-9
"""mm by which a second run may move an outline."""


def read_artwork(svg: str | bytes, recipe: str = "recipe: 1") -> tuple[Artwork, Bench]:
    """Read a drawing as the pipeline does, up to the first pass.

    Args:
        svg: the text of the drawing.
        recipe: the text of a recipe for its layers, settings, part and machine.

    Raises:
        UserError: the drawing or the recipe has a mistake.
    """
    loaded = load_recipe(None, recipe)
    data = svg.encode() if isinstance(svg, str) else svg
    artwork = read(data, "drawing.svg", loaded.options).artwork
    return artwork, loaded.bench


def check_pass(
    step: Params, artwork: Artwork, bench: Bench | None = None, *, twice: bool = True
) -> Outcome:
    """Run a pass and prove all that can be proved on one artwork; returns what it made.

    Args:
        step: the pass with its parameters.
        artwork: what to run it on.
        bench: machine, filament and parts.
        twice: the second run must change nothing. Passes that add or shift by design say False.

    Raises:
        AssertionError: a promise was broken; the sentence says which.
    """
    bench = bench or Bench()
    check_declaration(type(step))
    as_it_was = copy.deepcopy(artwork)
    outcome = step(artwork, bench)
    _check(artwork == as_it_was, step, "changed the artwork it was given")
    _check(step(as_it_was, bench) == outcome, step, "made something else of the same artwork")
    check_outcome(step, artwork, outcome, bench)
    _check_written(step, outcome.artwork)
    if twice:
        _check_same(step, outcome.artwork, step(outcome.artwork, bench).artwork)
    return outcome


def check_declaration(cls: type[Params]) -> None:
    """Prove that a pass declares what it must: version, contract, and words for each parameter.

    Raises:
        AssertionError: something is not declared.
    """
    name = getattr(cls, "name", cls.__name__)
    words = (
        (is_dataclass(cls), "is no dataclass"),
        (bool((cls.__doc__ or "").strip()), "has no docstring, which is its help"),
        (cls.api == API_VERSION, f"is not written for version {API_VERSION} of passes"),
        (isinstance(getattr(cls, "contract", None), Contract), "states no contract"),
    )
    for holds, complaint in words:
        if not holds:
            raise AssertionError(f"{name} {complaint}")
    if cls.contract.seals - cls.contract.gives:
        raise AssertionError(f"{name} seals facts that it does not give")
    hints = get_type_hints(cls, include_extras=True)
    for parameter in fields(cls):
        notes = getattr(hints[parameter.name], "__metadata__", ())
        if not any(isinstance(note, Doc) for note in notes):
            raise AssertionError(f"{name} has no Doc for its parameter {parameter.name}")


def check_outcome(step: Params, before: Artwork, outcome: Outcome, bench: Bench) -> None:
    """Prove ledger, facts, geometry and findings of one run.

    Raises:
        AssertionError: one of them is not as declared.
    """
    after = outcome.artwork
    uneven = imbalances(totals(before), outcome.changes, totals(after))
    _check(not uneven, step, f"does not balance its ledger: {uneven[0] if uneven else ''}")
    _check_facts(step, before, after, bench)
    for shape in after.shapes:
        held = [shape.geometry, *([shape.bars] if shape.bars is not None else [])]
        fine = all(shapely.is_valid(held)) and bool(
            np.isfinite(shapely.get_coordinates(held)).all()
        )
        _check(fine, step, f"made geometry that is not valid: {shape.id}")
    for finding in outcome.findings:
        said = finding.severity is Severity.NOTE or bool(finding.remedy)
        _check(said, step, f"gives no remedy in its finding {finding.code}")


def _check_facts(step: Params, before: Artwork, after: Artwork, bench: Bench) -> None:
    contract = step.contract_on(bench)
    chosen = bool(step.only or step.except_)
    for layer in before.layers:
        held = facts_of(before, layer.name, CORE if before.shapes_of(layer.name) else ())
        promised = (held & contract.keeps) | (frozenset() if chosen else contract.gives)
        for fact in sorted(promised - facts_of(after, layer.name, CORE), key=lambda f: f.name):
            raise AssertionError(
                f"{step.name} promised that {fact.sentence}: not so in {layer.name}"
            )


def _check_written(step: Params, artwork: Artwork) -> None:
    """Prove that the outcome can be written, and is read back as it was meant."""
    colours, _ = assign_colours(output_layers(artwork), {}, None)
    wrongs = disagreements(artwork, colours, svg_bytes(artwork, colours=colours))
    _check(not wrongs, step, f"made what cannot be written truly: {''.join(wrongs[:1])}")


def _check_same(step: Params, one: Artwork, two: Artwork) -> None:
    same = [_outside(a) for a in one.shapes] == [_outside(b) for b in two.shapes] and all(
        a.geometry.hausdorff_distance(b.geometry) < _SAME
        for a, b in zip(one.shapes, two.shapes, strict=True)
    )
    others = (one.layers, one.page, one.parts) == (two.layers, two.page, two.parts)
    _check(same and others, step, "changed something when it ran again on its own result")


def _outside(shape: Any) -> tuple[Any, ...]:
    """All of a shape but its outlines."""
    return tuple(
        getattr(shape, one.name)
        for one in fields(shape)
        if one.name in {"id", "layer", "operation", "level"}
    )


def _check(holds: bool, step: Params, complaint: str) -> None:  # noqa: FBT001 - as assert has it
    if not holds:
        raise AssertionError(f"{step.name} {complaint}")
