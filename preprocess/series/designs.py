"""Designs of a series, and the names of their outputs."""

from __future__ import annotations

import glob
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.errors import Complaint, Place, UserError, wrong
from preprocess.read.xml.drawing_bytes import read_drawing_bytes

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from preprocess.model.options.lettering import Lettering, Seat
    from preprocess.recipe.load import LoadedRecipe

_MAGIC = "*?["


@dataclass(frozen=True, slots=True)
class SeriesDesign:
    """One drawing of a series; outputs are called by `name`.

    `row` counts the rows of values from 0, `texts` are what it says there; None and empty for a
    drawing by itself. A plate counts plates instead, and its `seats` say what stands there.
    """

    path: Path
    name: str
    row: int | None = None
    texts: tuple[Lettering, ...] = ()
    seats: tuple[Seat, ...] = ()

    @property
    def title(self) -> str:
        """Title in log, table and report."""
        return self.path.name if self.row is None else f"{self.path.name}: {self.name}"


def expect_labels(loaded: LoadedRecipe, design: SeriesDesign) -> None:
    """Refuse what no label could do without: letters, and a drawing with the texts to fill in.

    Raises:
        UserError: the extra is missing, the drawing cannot be read, or lacks a text.
    """
    from preprocess.read.text.substitution import substitute_texts
    from preprocess.read.text.text_element import has_text_extra
    from preprocess.read.xml.document import parse_svg

    if not has_text_extra():
        raise wrong("the libraries that shape text are missing", "pip install 'evenmark[text]'")
    limits, name = loaded.options.limits, str(design.path)
    document = parse_svg(read_drawing_bytes(design.path, limits.file), name, limits)
    substitute_texts(document, design.texts)


def find_designs(named: Sequence[str]) -> tuple[SeriesDesign, ...]:
    """Files and patterns as designs: in the order given, those of a pattern by name, each once.

    Raises:
        UserError: a pattern that fits nothing, a folder, or two designs with the same outputs.
    """
    paths = dict.fromkeys(path for one in named for path in _paths(one))
    found = tuple(SeriesDesign(Path(path), Path(path).stem) for path in paths)
    _refuse_twins(found)
    return found


def _paths(named: str) -> list[str]:
    if Path(named).is_dir():
        remedy = f"name its drawings, such as '{named.rstrip('/')}/*.svg'"
        raise wrong("this is a folder, not a drawing", remedy, place=Place(named))
    if Path(named).exists() or not any(character in named for character in _MAGIC):
        return [named]
    every = glob.iglob(named, recursive=True)  # noqa: PTH207 - Path.glob takes no absolute ones
    found = sorted(path for path in every if Path(path).is_file())
    if not found:
        raise wrong("no file fits this pattern", "check folder and ending", place=Place(named))
    return found


def _refuse_twins(found: Iterable[SeriesDesign]) -> None:
    """Refuse names that differ in capitals only: some systems would lose one of two outputs."""
    first: dict[str, SeriesDesign] = {}
    twins = []
    for design in found:
        other = first.setdefault(design.name.casefold(), design)
        if other is not design:
            twins.append(
                Complaint(
                    found=f"its outputs would be called like those of {str(other.path)!r}",
                    remedy="rename one of the two, or make two series in two folders",
                    place=Place(str(design.path)),
                )
            )
    if twins:
        raise UserError(tuple(twins))
