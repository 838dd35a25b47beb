"""Layers of equal settings written as one, so that there are fewer colours to set up."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.engine.ledger import Change, amount_of
from preprocess.findings import note
from preprocess.marking.job.plan import USUAL_SETTINGS
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Operation

if TYPE_CHECKING:
    from preprocess.findings import Finding
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.artwork.shape import Shape


def share_colours(
    artwork: Artwork,
) -> tuple[Artwork, tuple[Finding, ...], tuple[Change, ...]]:
    """The artwork with shapes of equal operation and final settings on the first of their layers.

    Layers of which power or speed is not known stay apart, and images of greys do. Returns what to
    say, and the changes of the ledger: what leaves one layer enters another.
    """
    firsts: list[OutputLayer] = []
    taken: dict[int, OutputLayer] = {}
    joined: dict[str, list[str]] = {}
    for output in output_layers(artwork):
        first = next((one for one in firsts if _alike(one, output)), None)
        if first is None:
            firsts.append(output)
            continue
        taken |= {id(shape): first for shape in output.shapes}
        joined.setdefault(first.id, [first.id]).append(output.id)
    if not joined:
        return artwork, (), ()
    shapes = tuple(_moved(shape, taken.get(id(shape))) for shape in artwork.shapes)
    names = {shape.layer for shape in shapes}
    layers = tuple(layer for layer in artwork.layers if layer.name in names)
    both = zip(artwork.shapes, shapes, strict=True)
    pairs = [(old, new) for old, new in both if old.layer != new.layer]
    return (
        replace(artwork, shapes=shapes, layers=layers),
        tuple(_told(names) for names in joined.values()),
        tuple(change for old, new in pairs for change in _changes(old, new)),
    )


def _alike(one: OutputLayer, other: OutputLayer) -> bool:
    mine, theirs = (output.settings.over(USUAL_SETTINGS) for output in (one, other))
    known = mine.power is not None and mine.speed is not None
    known = known and not (one.in_greys or other.in_greys)
    if one.operation is not Operation.ENGRAVE:
        mine, theirs = (replace(s, pitch=None, direction=None, angle=None) for s in (mine, theirs))
    return known and one.operation is other.operation and mine == theirs


def _moved(shape: Shape, to: OutputLayer | None) -> Shape:
    return shape if to is None else replace(shape, layer=to.layer, level=to.level)


def _changes(old: Shape, new: Shape) -> tuple[Change, Change]:
    why = "layers of equal settings are written as one"
    return (
        Change(layer=old.layer, removed=amount_of(old), why=why),
        Change(layer=new.layer, added=amount_of(new), why=why),
    )


def _told(names: list[str]) -> Finding:
    message = f"{', '.join(names[:-1])} and {names[-1]} have equal settings: written as {names[0]}"
    remedy = "take share_colours: out to have a colour each"
    return note("layers-written-as-one", message, remedy)
