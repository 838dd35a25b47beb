"""Rules between values of a machine or filament file that are each right by themselves."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from preprocess.errors import Complaint
from preprocess.loading.schema.plain_data import nested_declared
from preprocess.loading.schema.value_types import declared_keys
from preprocess.model.artwork.picture import Images
from preprocess.model.bench.extra_settings import ExtraSetting
from preprocess.model.bench.filament import Intervals, Tried, Window
from preprocess.model.bench.machine import GreyIntervals, PaletteOrder, Steps

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.loading.yaml.yaml_document import KeyPath, YamlDocument
    from preprocess.model.artwork.artwork import Drawing
    from preprocess.model.bench.machine import Machine
    from preprocess.model.declared import Declared

    _Range = tuple[KeyPath, float | None, float | None, str]

COLOUR = re.compile(r"#[0-9a-fA-F]{6}")


def palette_complaints(
    machine: Machine, document: YamlDocument, path: KeyPath
) -> Iterator[Complaint]:
    """Complaints about the colours of a palette, and about an order without a palette."""
    first: dict[str, int] = {}
    for number, colour in enumerate(machine.palette or ()):
        place = document.at((*path, "palette", number))
        if not COLOUR.fullmatch(colour):
            remedy = "write six hex digits in quotes, such as '#336699'"
            yield Complaint(f"palette: {colour!r} is no colour", remedy, place)
        elif (slot := first.setdefault(colour.lower(), number)) != number:
            found = f"palette: {colour} is slot {slot + 1} already"
            yield Complaint(found, "give each slot a colour of its own", place)
    if machine.palette_order is PaletteOrder.AS_LISTED and not machine.palette:
        place = document.at((*path, "palette_order"))
        yield Complaint("palette_order is as-listed, but there is no palette", "list it", place)


def grey_complaints(machine: Machine, document: YamlDocument, path: KeyPath) -> Iterator[Complaint]:
    """A complaint about greys of which darker ones are not stronger."""
    grey = machine.grey
    if grey is not None and grey.from_ >= grey.to:
        remedy = "give from the power of the grey beside white, and to that of black"
        place = document.at((*path, "grey"))
        yield Complaint("grey: from is not below to", remedy, place)


def range_complaints(
    root: Declared, document: YamlDocument, path: KeyPath = ()
) -> Iterator[Complaint]:
    """Complaints about ranges whose lower end is above their upper one."""
    for inner, value in nested_declared(root, path):
        for key, low, high, found in _ranges(value):
            if low is not None and high is not None and low > high:
                named = f"{inner[-1]}: {found}" if inner else found
                yield Complaint(named, "swap them", document.at((*inner, *key)))


def _ranges(value: Declared) -> Iterator[_Range]:
    if isinstance(value, Steps | ExtraSetting):
        yield (), value.from_, value.to, "from is above to"
    elif isinstance(value, Window):
        yield (), value.weak, value.heavy, "weak is above heavy"
        yield (), value.heavy, value.molten, "heavy is above molten"
    elif isinstance(value, Intervals | Tried | GreyIntervals):
        for key in declared_keys(type(value)):
            held = getattr(value, key.field)
            if isinstance(held, tuple):
                yield (key.name,), *held, f"the first value of {key.name} is above the second"


def image_complaints(
    drawing: Drawing, machine: Machine | None, document: YamlDocument
) -> Iterator[Complaint]:
    """A complaint when pictures are to be marked by greys of which no power is known."""
    if drawing.images is Images.GREY and (machine is None or machine.grey is None):
        found = "drawing: images is grey, but the machine file has no grey"
        remedy = "mark the coupon grey-steps, whose fit writes it, or write images: keep"
        yield Complaint(found, remedy, document.at(("drawing", "images")))
