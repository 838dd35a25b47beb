"""Rounds: sweeps over every k-th row, one after another, until all rows are marked.

Neighbouring rows are then marked seconds apart, so that each finds the plastic cool. In
bit-reversed order a round falls in the middle of the widest gap that earlier rounds left.
"""

from __future__ import annotations

APART = 0.4
"""Distance in mm between the rows of one round: about how far heat spreads while it lasts."""

MOST_ROUNDS = 16
"""More rounds than this would lie farther apart than heat spreads, at any pitch in use."""

_IN_ORDER = 3

_OF_EIGHT = 0, 5, 2, 7, 4, 1, 6, 3
"""Rounds that follow one another, and may share a colour, lie three rows apart. By reversed bits
colours met in larger steps."""


def usual_rounds(pitch: float) -> int:
    """The number of rounds whose rows lie nearest to 0.4 mm apart, 2 to 16; pitch in mm."""
    return min(max(round(APART / pitch), 2), MOST_ROUNDS)


def round_order(rounds: int) -> tuple[int, ...]:
    """Numbers modulo `rounds` of the rows of each round, in marking order.

    Of an even number each gap is halved: four are 0, 2, 1, 3, by reversed bits; eight have an order
    of their own. Three are in order, other odd numbers first 0, 2, 4 and so on, then the rest.
    """
    return _OF_EIGHT if rounds == len(_OF_EIGHT) else _halved(rounds)


def _halved(rounds: int) -> tuple[int, ...]:
    if rounds % 2 == 0:
        half = rounds // 2
        return tuple(n + more for n in _halved(half) for more in (0, half))
    if rounds <= _IN_ORDER:
        return tuple(range(rounds))
    return (*range(0, rounds, 2), *range(1, rounds, 2))


def round_of_rows(rounds: int) -> tuple[int, ...]:
    """The round, from 0, of the rows 0, 1 … `rounds` − 1: the inverse of `round_order`."""
    order = round_order(rounds)
    return tuple(order.index(number) for number in range(rounds))


def colours_of_rounds(rounds: int, colours: int) -> tuple[int, ...]:
    """The colour of each round in marking order, from 0; the last colours have the most rounds."""
    return tuple((number * colours + colours - 1) // rounds for number in range(rounds))
