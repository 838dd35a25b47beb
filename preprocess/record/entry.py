"""One entry of the record: a written job with all that it takes to repeat it."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, Any

from annotated_types import Ge

from preprocess.coupon.design.model import Grade
from preprocess.findings import counted
from preprocess.loading.schema.plain_data import plain_data
from preprocess.loading.yaml.yaml_text import yaml_text
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.declared import Declared, Doc
from preprocess.write.digest import sha256_hex

if TYPE_CHECKING:
    from preprocess.model.bench.filament import Filament
    from preprocess.pipeline import Conversion
    from preprocess.recipe.load import LoadedRecipe

_DIGITS = 8
_NAME = re.compile(r"[^\w.-]+")
_HEAD = """\
# What evenmark wrote to be marked. Say how it came out with evenmark log.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedLayer(Declared):
    """One colour layer as it was to be set up."""

    id: Annotated[str, Doc("name of the layer")]
    operation: Annotated[Operation, Doc("engrave, score or cut")]
    colour: Annotated[str, Doc("colour in the file")]
    settings: Annotated[Settings, Doc("all that was to be typed in")] = Settings()


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedSeat(Declared):
    """Wording of one seat of a tray."""

    seat: Annotated[int, Ge(1), Doc("number of the seat")]
    plate: Annotated[int, Ge(1), Doc("number of the plate")] = 1
    says: Annotated[dict[str, str], Doc("wording by the text's selector")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome(Declared):
    """Outcome of a marked job, as the maker saw it."""

    on: Annotated[str | None, Doc("day, such as 2026-11-29")] = None
    grade: Annotated[Grade | None, Doc("even, weak, heavy or molten")] = None
    note: Annotated[str | None, Doc("what was seen")] = None
    photos: Annotated[dict[str, str] | None, Doc("SHA-256 of each photo, by its name")] = None
    measured: Annotated[str | None, Doc("what evenmark measure wrote of them")] = None
    next_recipe: Annotated[str | None, Doc("the recipe that evenmark correct wrote")] = None
    next_sha256: Annotated[str | None, Doc("SHA-256 of that recipe")] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordEntry(Declared):
    """One run whose file was written; `marked` holds what came of it."""

    record: Annotated[int, Doc("version of this file's format: 1")] = 1
    number: Annotated[int, Ge(1), Doc("number of the entry in its folder")]
    design: Annotated[str, Doc("name of the drawing")]
    design_sha256: Annotated[str, Doc("SHA-256 of the drawing")]
    svg: Annotated[str | None, Doc("name of the written SVG")] = None
    svg_sha256: Annotated[str, Doc("SHA-256 of the written SVG")]
    part: Annotated[str | None, Doc("the printed part")] = None
    machine: Annotated[str | None, Doc("name of the machine")] = None
    filament: Annotated[str | None, Doc("name of the spool")] = None
    profile: Annotated[str | None, Doc("first digits of a hash of the filament's file")] = None
    seats: Annotated[tuple[RecordedSeat, ...], Doc("which label lies in which seat")] = ()
    layers: Annotated[tuple[RecordedLayer, ...], Doc("layers in marking order")] = ()
    recipe: Annotated[Any, Doc("the recipe as run, without graded cells")] = None
    marked: Annotated[tuple[Outcome, ...], Doc("how it came out, one line each time")] = ()

    @property
    def last_graded(self) -> Outcome | None:
        """The latest line with a grade."""
        return next((one for one in reversed(self.marked) if one.grade is not None), None)


def entry_of(
    result: Conversion, loaded: LoadedRecipe, design: bytes, names: tuple[str, str | None]
) -> RecordEntry:
    """The entry of a conversion that is written, with the number 1.

    Args:
        result: with its bytes.
        loaded: the recipe.
        design: bytes of the drawing.
        names: of the drawing and of the written SVG.
    """
    filament, machine = loaded.filament, loaded.machine
    return RecordEntry(
        number=1,
        design=names[0],
        design_sha256=sha256_hex(design),
        svg=names[1],
        svg_sha256=result.digest or "",
        part=_part(result),
        machine=machine.name if machine else None,
        filament=filament.name if filament else None,
        profile=_profile(filament) if filament else None,
        seats=tuple(
            RecordedSeat(seat=seat.number, plate=seat.plate, says=seat.says)
            for seat in result.seats
        ),
        layers=tuple(
            RecordedLayer(
                id=output.id,
                operation=output.operation,
                colour=result.colours[output.id],
                settings=output.settings,
            )
            for output in output_layers(result.after)
        ),
        recipe=_to_paste(loaded.as_run),
    )


def entry_bytes(entry: RecordEntry) -> bytes:
    """The entry's file, UTF-8 YAML; lines of `marked` stand last, one to an outcome."""
    return f"{_HEAD}{yaml_text(plain_data(entry))}".encode()


def entry_name(entry: RecordEntry) -> str:
    """Name of the entry's file: number, drawing, and digits of a hash of all that it says.

    Entries of two branches that took the same number keep files of their own.
    """
    stem = _NAME.sub("-", entry.design.rpartition(".")[0] or entry.design).strip("-.") or "drawing"
    return f"{entry.number:04d}-{stem[:60]}-{entry_digest(entry)}.yaml"


def entry_digest(entry: RecordEntry) -> str:
    """Digits of a hash of what was written, whatever its number and its outcome."""
    said = plain_data(replace(entry, number=1, marked=()))
    return sha256_hex(json.dumps(said, sort_keys=True).encode())[:_DIGITS]


def _part(result: Conversion) -> str | None:
    boxes = [part.bounds for part in result.after.parts]
    sizes = dict.fromkeys(f"{x1 - x0:.2f} × {y1 - y0:.2f} mm" for x0, y0, x1, y1 in boxes)
    if not boxes:
        return None
    outlines = [p.outline for p in result.bench.parts if isinstance(p.outline, str)]
    said = " ".join([*outlines, " and ".join(sizes)])
    return f"{counted(len(boxes), 'part')}, {said}" if len(boxes) > 1 else said


def _profile(filament: Filament) -> str:
    """A hash of the filament's figures and trials: another fit has another one."""
    said = json.dumps(plain_data(filament), sort_keys=True, default=str)
    return sha256_hex(said.encode())[:_DIGITS]


def _to_paste(recipe: dict[str, Any]) -> dict[str, Any]:
    """The recipe without graded cells; a pass without parameters is its name alone."""
    steps = [
        name if not params else {name: params}
        for step in recipe["passes"]
        for name, params in step.items()
    ]
    filament = recipe.get("filament")
    if isinstance(filament, dict):
        filament = {key: held for key, held in filament.items() if key != "trials"}
        return {**recipe, "filament": filament, "passes": steps}
    return {**recipe, "passes": steps}
