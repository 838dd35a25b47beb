"""One run as a job sheet tells it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.findings import Finding
    from preprocess.marking.prediction import Prediction
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench
    from preprocess.model.options.lettering import Seat


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetJob:
    """One run: the drawing as read, the output, and the prediction for both.

    `output` is the written SVG: its path as seen from the sheet, and its SHA-256;
    `findings` are all of the run, with places on the output page; `predicted` (before, after) is
    None when heat was left out; `seats` are those of a tray whose labels differ; `recipe` is the
    recipe as run, as plain data.
    """

    title: str
    before: Artwork
    after: Artwork
    bench: Bench
    colours: Mapping[str, str]
    output: tuple[str | None, str | None] = (None, None)
    findings: Sequence[Finding] = ()
    predicted: tuple[Prediction, Prediction] | None = None
    seats: Sequence[Seat] = ()
    recipe: Mapping[str, Any] = field(default_factory=dict)
    versions: Mapping[str, str] = field(default_factory=dict)
