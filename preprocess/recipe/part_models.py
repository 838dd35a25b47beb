"""Models of parts: read where the recipe names one, for outline, heights and thickness."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.errors import Complaint, UserError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from preprocess.arrays import Floats
    from preprocess.findings import Finding
    from preprocess.model.bench.machine import Machine
    from preprocess.model.bench.part import Part
    from preprocess.model.bench.relief import Relief
    from preprocess.read.part.part_relief import PartModel


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PartModels:
    """What the models of parts came to: the parts completed, reliefs, findings and files read.

    `reliefs`, and `solids` (n × 3 × 3, mm, the whole part in the coordinates of its relief), are in
    the order of the parts, None for those without a model.
    """

    parts: tuple[Part, ...] = ()
    reliefs: tuple[Relief | None, ...] = ()
    solids: tuple[Floats | None, ...] = ()
    findings: tuple[Finding, ...] = ()
    files: tuple[Path, ...] = ()


def read_part_models(parts: Sequence[Part], machine: Machine | None, folder: Path) -> PartModels:
    """Read the models that parts name; without any, nothing is imported.

    Raises:
        UserError: every complaint about the models.
    """
    if not any(part.model for part in parts):
        return PartModels(parts=tuple(parts), reliefs=(None,) * len(parts))
    complaints: list[Complaint] = []
    read: list[PartModel | None] = []
    for part in parts:
        try:
            read.append(read_part_model(part, machine, folder))
        except UserError as error:
            complaints += error.complaints
    if complaints:
        raise UserError(complaints)
    known = [one for one in read if one is not None]
    return PartModels(
        parts=tuple(p if one is None else one.part for p, one in zip(parts, read, strict=True)),
        reliefs=tuple(None if one is None else one.relief for one in read),
        solids=tuple(None if one is None else one.solid for one in read),
        findings=tuple(finding for one in known for finding in one.findings),
        files=tuple(dict.fromkeys(folder / part.model for part in parts if part.model)),
    )


def read_part_model(part: Part, machine: Machine | None, folder: Path) -> PartModel | None:
    """The model of one part; None where it names none.

    Raises:
        UserError: the file is no sound model, or its side that is up has nothing to mark.
    """
    if part.model is None:
        return None
    from preprocess.read.mesh.mesh_file import read_mesh_file
    from preprocess.read.part.part_relief import part_model

    path = folder / part.model
    return part_model(read_mesh_file(path), part, machine, str(path))
