"""Rules between values of a machine file that are each right by themselves."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from preprocess.errors import Complaint
from preprocess.model.bench.machine import PaletteOrder

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.loading.yaml.yaml_document import KeyPath, YamlDocument
    from preprocess.model.bench.machine import Machine

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
