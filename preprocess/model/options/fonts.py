"""Which fonts lettering may be drawn with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from preprocess.model.declared import Declared, Doc


@dataclass(frozen=True, slots=True, kw_only=True)
class Fonts(Declared):
    """Where fonts come from, and what stands in for one that is missing."""

    folder: Annotated[
        str | None, Doc("folder of font files, beside the recipe; they come before installed ones")
    ] = None
    installed: Annotated[
        bool,
        Doc("whether fonts of this computer count; false: same lettering on every computer"),
    ] = True
    substitute: Annotated[
        str | None,
        Doc("family that stands in for missing fonts and letters; without it they stop the run"),
    ] = None
