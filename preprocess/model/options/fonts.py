"""Fonts that lettering may be drawn with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from preprocess.model.declared import Declared, Doc


@dataclass(frozen=True, slots=True, kw_only=True)
class Fonts(Declared):
    """Sources of fonts, and the substitute for a missing one."""

    folder: Annotated[
        str | None, Doc("folder of font files, beside the recipe; searched before installed fonts")
    ] = None
    installed: Annotated[
        bool,
        Doc("use fonts of this computer too; false: same lettering on every computer"),
    ] = True
    alike: Annotated[
        bool,
        Doc("take families of the same widths for missing ones, such as Arimo for Arial"),
    ] = False
    substitute: Annotated[
        str | None,
        Doc("family used for missing fonts and letters; without it they stop the run"),
    ] = None
