"""Anchors: two marks that stand at one place in every file of a set-up."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from annotated_types import Gt

from preprocess.model.declared import Declared, Doc
from preprocess.units import Length


class AnchorLines(StrEnum):
    """Use of the anchors' lines at the machine."""

    GUIDE = "guide"
    SCORE = "score"


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchors(Declared):
    """Two corner marks that hold the box of the file.

    They stand 1 mm within opposite corners of the machine's field; where no field is known, at the
    corners of the box of all parts, grown by `beyond`. Job, re-mark, mirrored job, jig, coupon and
    tray carry them alike, so that software which places by the drawing's box puts all alike.
    """

    lines: Annotated[
        AnchorLines,
        Doc("guide (not marked), or score: hairlines on the card, at the machine's least power"),
    ] = AnchorLines.GUIDE
    beyond: Annotated[
        Length, Gt(0), Doc("how far outside the box of the parts they stand without a known field")
    ] = 10.0
    part: Annotated[bool, Doc("draw the part's silhouette as a guide too")] = False
