"""Figures in words, as a person at the machine wants to read them."""

from __future__ import annotations

_MINUTE = 60.0


def figure(value: float, decimals: int) -> str:
    """A number with at most so many decimals."""
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def size_text(width: float, height: float) -> str:
    """Width and height in mm."""
    return f"{figure(width, 2)} × {figure(height, 2)} mm"


def percent_text(share: float | None) -> str:
    """A share, to a hundredth of a percent."""
    return "not set" if share is None else f"{figure(100 * share, 2)} %"


def duration_text(seconds: float) -> str:
    """A time: tenths of a second below a minute, then minutes and seconds."""
    if seconds < _MINUTE:
        return f"{seconds:.1f} s"
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    if hours:
        return f"{hours} h {minutes} min"
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"


def plural(count: int, noun: str) -> str:
    """A number of things."""
    return f"{count} {noun}{'' if count == 1 else 's'}"
