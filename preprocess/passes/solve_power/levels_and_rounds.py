"""Powers of levels first, and of rounds then: solved, held within limits, set and told."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.engine.contract import Outcome
from preprocess.errors import Refusal
from preprocess.findings import Finding, note
from preprocess.marking.machine.beam import beam_of
from preprocess.model.artwork.output import OutputLayer, output_layers
from preprocess.model.artwork.settings import Operation
from preprocess.passes.solve_power.findings import (
    border_findings,
    evenness_finding,
    order_findings,
    power_findings,
)
from preprocess.passes.solve_power.level_order import put_in_row_order, reorder_findings
from preprocess.passes.solve_power.limits import expect_marks, expect_powers
from preprocess.passes.solve_power.round_powers import judged, solve_rounds
from preprocess.passes.solve_power.solver import (
    SolvedPowers,
    own_powers,
    scaled_powers,
    solve_powers,
    with_powers,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench

_NEEDED = {"pitch": "pitch: 0.1 mm", "speed": "speed: 900 mm/s", "power": "power: 50 %"}
"""Settings that the simulation needs, as a recipe writes them."""


def solve_levels_and_rounds(
    artwork: Artwork, bench: Bench, chosen: Callable[[Shape], bool], *, strength: float
) -> Outcome:
    """Solve and set the powers of chosen shapes; `strength` is the share to correct.

    Raises:
        Refusal: no pitch, speed or power; only a part of a layer is chosen; a level would not
            show, or needs a power outside the machine's range.
    """
    outputs = _outputs(artwork, chosen)
    if not outputs:
        message = "the selection has no engraved area, so there is no power to solve"
        return Outcome(artwork=artwork, findings=(note("no-rows", message),))
    findings: list[Finding] = []
    plain = [output for output in outputs if not output.in_rounds]
    if plain:
        artwork = put_in_row_order(artwork, bench, {output.id for output in plain})
        plain = [output for output in _outputs(artwork, chosen) if not output.in_rounds]
        solved = solve_powers(artwork, bench, plain)
        artwork, told = _set(artwork, bench, plain, solved, strength)
        findings += [*told, *reorder_findings(artwork), *order_findings(artwork, bench, plain)]
    rounds = [output for output in outputs if output.in_rounds]
    if rounds:
        solved = solve_rounds(artwork, bench, rounds)
        artwork, told = _set(artwork, bench, rounds, solved, strength)
        findings += told
    return Outcome(artwork=artwork, findings=tuple(findings))


def _set(
    artwork: Artwork,
    bench: Bench,
    outputs: list[OutputLayer],
    solved: SolvedPowers,
    strength: float,
) -> tuple[Artwork, list[Finding]]:
    """The artwork with solved powers, to the steps of the machine, and what to say of them."""
    wanted = scaled_powers(solved, strength, beam_of(bench.machine_or_default))
    expect_powers(wanted, solved, artwork, bench, outputs, strength)
    steps = bench.machine_or_default.power
    powers = {name: steps.nearest(power) for name, power in wanted.items()}
    after = with_powers(artwork, outputs, powers)
    known = solved.reached if powers == solved.tried else None
    marked, now = judged(after, bench, outputs, known)
    expect_marks(marked, solved, bench, outputs)
    own = with_powers(artwork, outputs, solved.own)
    _, was = judged(own, bench, outputs, solved.before)
    anew, each = _anew(artwork, outputs), power_findings(solved, powers, marked, outputs)
    plain = [output for output in outputs if not output.in_rounds]
    seams = border_findings(marked, plain)
    return after, [*anew, *each, *seams, *evenness_finding(was, now)]


def _outputs(artwork: Artwork, chosen: Callable[[Shape], bool]) -> list[OutputLayer]:
    """Output layers to be solved: engraved, wholly chosen, with all settings.

    Raises:
        Refusal: one is chosen in part, or lacks a setting.
    """
    found = []
    for output in output_layers(artwork):
        rows = (s for s in output.shapes if s.is_engraved_area or s.round is not None)
        hits = [chosen(shape) for shape in rows]
        if any(hits):
            _expect_whole(output, all(hits))
            _expect_settings(output)
            found.append(output)
    return found


def _expect_whole(output: OutputLayer, whole: bool) -> None:  # noqa: FBT001 - private
    if not whole:
        raise Refusal(
            f"{output.id} has one power, but the step chooses only some of its shapes",
            "choose all of them, or give the others a layer of their own",
        )


def _expect_settings(output: OutputLayer) -> None:
    traced = output.operation is not Operation.ENGRAVE
    needed = [key for key in _NEEDED if not (traced and key == "pitch")]
    missing = [key for key in needed if getattr(output.settings, key) is None]
    if missing:
        raise Refusal(
            f"layer {output.layer!r} lacks {' and '.join(missing)}, which the simulation needs",
            f"add it to the recipe: settings: {{{output.operation}: {{"
            + ", ".join(_NEEDED[key] for key in missing)
            + "}}",
        )


def _anew(artwork: Artwork, outputs: list[OutputLayer]) -> Iterator[Finding]:
    own = own_powers(artwork, outputs)
    other = [o.id for o in outputs if o.settings.power != own[o.id]]
    if other and any(artwork.layer(o.layer).shares for o in outputs):
        message = f"solved powers replace the earlier ones of {', '.join(other)}"
        yield note("powers-solved-anew", message, "leave powers out of tag-power or interleave")
