"""The Pareto front: ways that no other way beats in every figure."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    Key = tuple[float, float, float, int]


def is_dominated(one: Key, others: Sequence[Key]) -> bool:
    """Test whether another is at least as good in every figure and better in one."""
    return any(
        other != one and all(a <= b for a, b in zip(other, one, strict=True)) for other in others
    )


def pareto_front(keys: Sequence[Key]) -> list[int]:
    """Indices of those that no other dominates, best first."""
    unbeaten = [n for n, one in enumerate(keys) if not is_dominated(one, keys)]
    return sorted(unbeaten, key=lambda n: (keys[n], n))
