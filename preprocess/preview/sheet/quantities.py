"""Figures in words, as a person at the machine wants to read them."""

from __future__ import annotations

from preprocess.write.svg.decimals import decimal_text

_MINUTE = 60.0


def size_text(width: float, height: float) -> str:
    """Width and height in mm."""
    return f"{decimal_text(width, 2)} × {decimal_text(height, 2)} mm"


def percent_text(share: float | None) -> str:
    """A share, to a hundredth of a percent."""
    return "not set" if share is None else f"{decimal_text(100 * share, 2)} %"


def duration_text(seconds: float) -> str:
    """A time: tenths of a second below a minute, then minutes and seconds."""
    if seconds < _MINUTE:
        return f"{seconds:.1f} s"
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    if hours:
        return f"{hours} h {minutes} min"
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"
