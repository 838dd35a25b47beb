"""Look-alikes of missing font families: of the same widths, or of a similar name."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection

_SAME_WIDTHS = (
    ("Arial", "Helvetica", "Liberation Sans", "Arimo", "Nimbus Sans", "TeX Gyre Heros"),
    ("Arial Narrow", "Liberation Sans Narrow", "Nimbus Sans Narrow", "TeX Gyre Heros Cn"),
    ("Times New Roman", "Times", "Liberation Serif", "Tinos", "Nimbus Roman", "TeX Gyre Termes"),
    ("Courier New", "Courier", "Liberation Mono", "Cousine", "Nimbus Mono PS", "TeX Gyre Cursor"),
    ("Palatino", "Palatino Linotype", "Book Antiqua", "P052", "TeX Gyre Pagella"),
    ("Bookman", "ITC Bookman", "Bookman Old Style", "Bookman URW", "TeX Gyre Bonum"),
    ("New Century Schoolbook", "Century Schoolbook", "C059", "TeX Gyre Schola"),
    ("Avant Garde", "ITC Avant Garde Gothic", "URW Gothic", "TeX Gyre Adventor"),
    ("Calibri", "Carlito"),
    ("Cambria", "Caladea"),
    ("Georgia", "Gelasio"),
)
"""Families whose letters have the same widths, so that lines of text stay as long as drawn."""

_SIMILAR = 0.7
_MOST = 3


def families_of_same_widths(name: str) -> tuple[str, ...]:
    """Other families whose letters are as wide as those of a family."""
    low = name.casefold()
    for group in _SAME_WIDTHS:
        if low in {one.casefold() for one in group}:
            return tuple(one for one in group if one.casefold() != low)
    return ()


def families_of_similar_name(name: str, known: Collection[str]) -> tuple[str, ...]:
    """The known families (in lower case) whose names come closest, best first."""
    found = get_close_matches(name.casefold(), sorted(known), _MOST, _SIMILAR)
    return tuple(one.title() for one in found)
