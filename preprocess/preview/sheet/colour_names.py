"""Names of colours, for eyes and voices that need a word beside a swatch."""

from __future__ import annotations

_NAMED = {
    "#0072b2": "blue",
    "#d55e00": "vermilion",
    "#009e73": "bluish green",
    "#cc79a7": "reddish purple",
    "#000000": "black",
    "#e69f00": "orange",
    "#56b4e9": "sky blue",
    "#999999": "grey",
    "#b8b8b8": "light grey",
}
"""Colours that layers get unless the recipe says otherwise, as their authors call them; greys."""

_PLAIN = {
    "#ffffff": "white",
    "#808080": "grey",
    "#ff0000": "red",
    "#800000": "dark red",
    "#ffff00": "yellow",
    "#808000": "olive",
    "#00ff00": "light green",
    "#008000": "green",
    "#00ffff": "cyan",
    "#008080": "teal",
    "#0000ff": "strong blue",
    "#000080": "navy",
    "#ff00ff": "magenta",
    "#800080": "purple",
    "#ffa500": "orange",
    "#a52a2a": "brown",
    "#ffc0cb": "pink",
}


def colour_name(colour: str) -> str:
    """Name of #rrggbb: its own, or that of the nearest colour that has one."""
    known = {**_PLAIN, **_NAMED}
    if colour in known:
        return known[colour]
    return f"like {known[min(known, key=lambda other: _apart(colour, other))]}"


def _apart(one: str, other: str) -> int:
    return sum(
        (int(one[i : i + 2], 16) - int(other[i : i + 2], 16)) ** 2 * weight
        for i, weight in ((1, 2), (3, 4), (5, 3))
    )
