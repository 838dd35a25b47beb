"""Ids for shapes that a pass makes."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


def unique_ids(wanted: Sequence[str], taken: Iterable[str]) -> list[str]:
    """Unlike ids, as close to the wanted ones as may be.

    A name that is wanted once and free stays as it is; one that is wanted more often is numbered
    in order: leaf-1, leaf-2.
    """
    used = set(taken)
    often = {name for name, count in Counter(wanted).items() if count > 1}
    next_number: Counter[str] = Counter()
    found = []
    for name in wanted:
        candidate = name
        while candidate in used or (candidate == name and name in often):
            next_number[name] += 1
            candidate = f"{name}-{next_number[name]}"
        found.append(candidate)
        used.add(candidate)
    return found
