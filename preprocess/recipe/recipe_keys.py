"""The recipe: which design, machine, filament and part, what the drawing means, which passes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Any

from annotated_types import Ge, Le

from preprocess.model.artwork.artwork import Drawing
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.anchors import Anchors
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import Machine
from preprocess.model.bench.part import Part
from preprocess.model.declared import Declared, Doc
from preprocess.model.options.fonts import Fonts
from preprocess.model.options.lettering import TextRule
from preprocess.model.options.limits import DrawingLimits
from preprocess.model.options.reading import LayerRule
from preprocess.model.options.shades import Plain, Shades

RECIPE_FORMAT = 1
"""Version of the recipe's format."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe(Declared):
    """The keys of a recipe; files that it names are found relative to it."""

    recipe: Annotated[int, Doc("version of this file's format: 1")]
    extends: Annotated[
        str | None,
        Doc("another recipe that this one builds on; what is written here comes first"),
    ] = None
    design: Annotated[str | None, Doc("the drawing, an SVG file; the command may name another")] = (
        None
    )
    machine: Annotated[Machine | str | None, Doc("a machine file, or its keys written out")] = None
    filament: Annotated[
        Filament | str | None, Doc("a material profile, or its keys written out: {name: …} will do")
    ] = None
    part: Annotated[
        Part | tuple[Part, ...], Doc("the printed part, or a list of parts; never marked itself")
    ] = ()
    keep_off: Annotated[
        tuple[str, ...], Doc("quoted CSS selectors of areas that nothing may be marked on")
    ] = ()
    layers: Annotated[
        tuple[LayerRule, ...],
        Doc("which elements make up which layer; without it areas are engraved and lines scored"),
    ] = ()
    settings: Annotated[dict[Operation, Settings], Doc("settings of each operation")] = field(
        default_factory=dict
    )
    drawing: Annotated[Drawing, Doc("how numbers of the drawing are read and written")] = Drawing()
    shades: Annotated[
        Plain | Shades,
        Doc("what becomes of gradients: solid, {bands: 4} or {threshold: 50 %}"),
    ] = Plain.SOLID
    fonts: Annotated[Fonts, Doc("which fonts text is drawn with")] = Fonts()
    text: Annotated[
        tuple[TextRule, ...], Doc("what texts of the drawing say: values, columns, serial numbers")
    ] = ()
    names_from: Annotated[
        str | None, Doc("column of --values after which the outputs are called; else by number")
    ] = None
    limits: Annotated[DrawingLimits, Doc("how much a drawing may ask for before it is refused")] = (
        DrawingLimits()
    )
    colours: Annotated[
        dict[str, str], Doc("colours of output layers, such as fronds-1: '#0072b2'")
    ] = field(default_factory=dict)
    share_colours: Annotated[
        bool, Doc("write layers of equal operation and final settings as one, on one colour")
    ] = False
    corrections: Annotated[
        int, Ge(0), Le(2), Doc("how often evenmark correct has moved the powers by a photo")
    ] = 0
    check_square: Annotated[
        bool, Doc("add guides of 10 mm to measure after import, on a layer that is not marked")
    ] = False
    anchors: Annotated[
        bool | Anchors | None,
        Doc("two marks in one place in every file of a set-up: true, or {lines: score}"),
    ] = None
    passes: Annotated[
        tuple[Any, ...], Doc("the steps, in order: a pass by name, or its name and parameters")
    ] = ()

    @property
    def parts(self) -> tuple[Part, ...]:
        """All parts, however they were written."""
        return self.part if isinstance(self.part, tuple) else (self.part,)
