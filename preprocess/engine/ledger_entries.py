"""Ledger entries of a step: measured on the shapes that it removed and those that it added."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.engine.ledger import Amount, Change, amount_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preprocess.model.artwork.artwork import Exchange
    from preprocess.model.artwork.shape import Shape


def entries_of(exchanges: Iterable[Exchange], why: str) -> tuple[Change, ...]:
    """Entries for shapes that others replace, see `Artwork.exchanged`."""
    exchanges = tuple(exchanges)
    added = (new for _, shapes in exchanges for new in shapes)
    return exchange_entries((old for old, _ in exchanges), added, why)


def exchange_entries(
    removed: Iterable[Shape], added: Iterable[Shape], why: str
) -> tuple[Change, ...]:
    """One entry for each layer that lost or gained shapes, in order of first appearance."""
    lost, gained = _by_layer(removed), _by_layer(added)
    return tuple(
        Change(
            layer=layer,
            added=gained.get(layer, Amount()),
            removed=lost.get(layer, Amount()),
            why=why,
        )
        for layer in dict.fromkeys((*lost, *gained))
    )


def _by_layer(shapes: Iterable[Shape]) -> dict[str, Amount]:
    amounts: dict[str, Amount] = {}
    for shape in shapes:
        amounts[shape.layer] = amounts.get(shape.layer, Amount()) + amount_of(shape)
    return amounts
