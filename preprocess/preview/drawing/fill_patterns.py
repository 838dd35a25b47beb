"""Patterns that tell areas apart without hue, and tints that tell them apart by lightness."""

from __future__ import annotations

from preprocess.preview.drawing.canvas import mm
from preprocess.write.svg.layer_colours import contrast_ratio

_SIDE = 1.6
_HALF = _SIDE / 2
_LINES = {
    "rising": f"M0 {_SIDE} L{_SIDE} 0 M-0.4 0.4 L0.4 -0.4 M1.2 2 L2 1.2",
    "falling": f"M0 0 L{_SIDE} {_SIDE} M-0.4 1.2 L0.4 2 M1.2 -0.4 L2 0.4",
    "level": f"M0 {_HALF} H{_SIDE}",
    "upright": f"M{_HALF} 0 V{_SIDE}",
    "grid": f"M0 {_HALF} H{_SIDE} M{_HALF} 0 V{_SIDE}",
    "net": f"M0 0 L{_SIDE} {_SIDE} M0 {_SIDE} L{_SIDE} 0",
    "dots": f"M{_HALF} {_HALF} h0.001",
}
_DARKEST = 12.0

OF_LAYERS = ("", "level", "falling", "upright", "grid")
"""Patterns of the layers, from the first on."""


def fill_pattern(
    name: str, kind: str, colour: str, *, width: float = 0.22, scale: float = 1.0
) -> str:
    """A pattern to define once and fill with by its name."""
    if kind == "dots":
        width *= 2.2
    side = mm(_SIDE * scale)
    return (
        f'<pattern id="{name}" patternUnits="userSpaceOnUse" width="{side}" height="{side}"'
        f' viewBox="0 0 {_SIDE} {_SIDE}"><path d="{_LINES[kind]}" fill="none" stroke="{colour}"'
        f' stroke-width="{mm(width)}" stroke-linecap="round"/></pattern>'
    )


def shade(colour: str, share: float) -> str:
    """The colour mixed with black; 1 is the colour itself."""
    return _mixed(colour, 0, share)


def ground(colour: str, index: int, count: int) -> str:
    """Tint of the level at an index of so many: from dark to light, whatever its hue.

    Nothing gets so dark that a black pattern on it could not be seen.
    """
    share = 0.85 if count < 2 else 0.85 - 0.6 * index / (count - 1)  # noqa: PLR2004 - one alone
    return _mixed(colour, 255, share * min(1.0, _DARKEST / contrast_ratio(colour)))


def _mixed(colour: str, other: int, share: float) -> str:
    channels = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return "#" + "".join(f"{round(c * share + other * (1 - share)):02x}" for c in channels)
