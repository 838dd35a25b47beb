"""interleave: areas to be marked in rounds, every k-th row in each."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Ge, Le

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import BARRED, FILLED, INTERLEAVED
from preprocess.engine.ledger_entries import exchange_entries
from preprocess.engine.selection import selected_areas
from preprocess.errors import Refusal
from preprocess.findings import Finding, note
from preprocess.geometry.rows.rounds import colours_of_rounds, usual_rounds
from preprocess.marking.job.plan import USUAL_SETTINGS
from preprocess.model.artwork.settings import Direction, Operation
from preprocess.model.bench.machine import RasterGroups
from preprocess.model.declared import Doc
from preprocess.passes._shared.expectations import engraving_pitch, expect_no_bars
from preprocess.passes.interleave.cut_rounds import RowPlan, rows_of, strips_of
from preprocess.passes.interleave.findings import round_findings
from preprocess.units import Length, Share

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.engine.ledger import Change
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.settings import Layer
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import Machine, PowerSteps

_USUAL_COLOURS = 4


class Form(StrEnum):
    """Form of the rounds: strips or own rows."""

    STRIPS = "strips"
    OWN_ROWS = "own-rows"


@dataclass(frozen=True, slots=True, kw_only=True)
class Interleave(Params):
    """Mark areas in rounds: every k-th row first, then those in between, round by round.

    Neighbouring rows are then marked seconds apart, and each finds the plastic cool: tips no
    longer run hot, and first rows are no longer cold. As strips, the areas of a layer are cut
    into pieces one row high; every k-th of them belongs to one round, a compound path, and
    together they are the areas. Software that sweeps each colour as a whole then has one round to
    a colour; other software marks the rounds of a colour one after another. As own rows, each
    round is a path of lines to score, at the power and speed of scoring. Of four rounds the rows
    are 1, 3, 2 and 4, counted from the longest edge, which lies in the first round then, and with
    one colour in the last; so does the last row, unless that round has a row near. Let
    solve-power follow: each colour gets a power of its own.
    """

    name: ClassVar = "interleave"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}),
        gives=frozenset({INTERLEAVED}),
        keeps=frozenset({FILLED, BARRED}),
        seals=frozenset({INTERLEAVED}),
    )

    form: Annotated[
        Form,
        Doc("strips: areas that the software sweeps; own-rows: lines that the beam traces"),
    ] = Form.STRIPS
    rounds: Annotated[
        int | None,
        Ge(2),
        Le(16),
        Doc("k: how many rounds; without it as many as bring their rows nearest to 0.4 mm apart"),
    ] = None
    colours: Annotated[
        int | None,
        Ge(1),
        Le(16),
        Doc("how many colours the rounds get; without it one for each, but at most four"),
    ] = None
    powers: Annotated[
        tuple[Share, ...] | None,
        Doc(
            "power of each colour as a share of the layer's power, rounded to what the machine can "
            "be set to; solve-power finds better ones"
        ),
    ] = None
    direction: Annotated[
        Direction | None,
        Doc("own rows one-way or two-way; without it as the layer has them"),
    ] = None
    inset: Annotated[
        Length | None,
        Ge(0),
        Doc("how far own rows keep inside the drawn edge; without it half the machine's spot"),
    ] = None

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Cut the chosen areas of each layer into rounds.

        Raises:
            Refusal: no pitch, areas with levels or other rounds, bars beside own rows, one colour
                where the software sweeps each colour as a whole, not as many powers as colours.
        """
        by_layer: dict[str, list[Shape]] = defaultdict(list)
        for shape in selected_areas(artwork, self):
            by_layer[shape.layer].append(shape)
        after, steps = artwork, bench.machine_or_default.power
        findings: list[Finding] = []
        changes: list[Change] = []
        for name, shapes in by_layer.items():
            if all(shape.round is not None for shape in shapes):
                findings.append(note("interleaved-already", f"{name} has its rounds already"))
                continue
            self._expect_plain(shapes)
            plan = self._plan(artwork, name, bench.machine_or_default)
            make = strips_of if self.form is Form.STRIPS else rows_of
            new = [_coloured(one, plan) for one in make(artwork, shapes, plan)]
            after = after.exchanged((s, new if s is shapes[0] else ()) for s in shapes)
            after = replace(
                after,
                layers=tuple(self._powered(x, name, plan.colours, steps) for x in after.layers),
            )
            whole = bench.machine_or_default.raster_groups is RasterGroups.EACH_COLOUR
            findings += round_findings(artwork, shapes, new, plan, whole=whole)
            changes += exchange_entries(shapes, new, "areas cut into rounds")
        return Outcome(artwork=after, findings=tuple(findings), changes=tuple(changes))

    def _expect_plain(self, shapes: Sequence[Shape]) -> None:
        for shape in shapes:
            if shape.level is not None or shape.round is not None:
                what = "a level" if shape.round is None else "a round"
                raise Refusal(
                    f"{shape.id} has {what} already, and power can follow only one of the two",
                    "take out tag-power or shades, or choose the other areas with only",
                )
            if self.form is Form.OWN_ROWS:
                expect_no_bars(shape, "take out equalize-width, or give interleave form: strips")

    def _plan(self, artwork: Artwork, name: str, machine: Machine) -> RowPlan:
        """Plan of the rows of a layer."""
        pitch = engraving_pitch(artwork, name, "give the layer one")
        engraving = artwork.layer(name).of(Operation.ENGRAVE).over(USUAL_SETTINGS)
        rounds, colours = self._numbers(pitch, machine)
        return RowPlan(
            rounds=rounds,
            colours=colours,
            angle=engraving.angle or 0.0,
            pitch=pitch,
            rule=machine.first_row,
            two_way=(self.direction or engraving.direction) is Direction.TWO_WAY,
            inset=(machine.spot or 0.0) / 2 if self.inset is None else self.inset,
        )

    def _numbers(self, pitch: float, machine: Machine) -> tuple[int, int]:
        """Numbers of rounds and of colours."""
        rounds = self.rounds or usual_rounds(pitch)
        colours = min(self.colours or _USUAL_COLOURS, rounds)
        if self.form is Form.STRIPS and machine.raster_groups is RasterGroups.EACH_COLOUR:
            if colours == 1:
                raise Refusal(
                    "the software sweeps each colour as a whole, so one colour is one round",
                    "give interleave colours: 4, or form: own-rows",
                )
            rounds = colours
        if self.powers is not None and len(self.powers) != colours:
            raise Refusal(
                f"there are {colours} colours but {len(self.powers)} powers",
                "give one power for each colour, in marking order",
            )
        return rounds, colours

    def _powered(self, layer: Layer, name: str, colours: int, steps: PowerSteps) -> Layer:
        if layer.name != name:
            return layer
        operation = Operation.ENGRAVE if self.form is Form.STRIPS else Operation.SCORE
        own = layer.of(operation).power
        powers = tuple(_settable(share, own, steps) for share in self.powers or ())
        if colours > 1:
            return replace(layer, shares=powers, order=())
        return replace(layer, shares=(), plain_share=powers[0] if powers else None, order=())


def _settable(share: float, own: float | None, steps: PowerSteps) -> float:
    """The share of a power at which the machine can be set to it; out of its range as it is."""
    if own is None or not steps.holds(share * own):
        return share
    return steps.nearest(share * own) / own


def _coloured(shape: Shape, plan: RowPlan) -> Shape:
    if plan.colours == 1 or shape.round is None:
        return shape
    return replace(shape, level=1 + colours_of_rounds(plan.rounds, plan.colours)[shape.round])
