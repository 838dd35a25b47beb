"""Font matching: the best face of a family. Source: CSS Fonts 4, sections 2.1 and 5.2."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import tinycss2

from preprocess.read.style.font_shorthand import STRETCHES
from preprocess.read.xml.lengths import split_length

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preprocess.read.fonts.faces import Face, Range
    from preprocess.read.style.computed import Style


GENERIC_FAMILIES = {
    "serif": (
        "DejaVu Serif",
        "Liberation Serif",
        "Noto Serif",
        "Times New Roman",
        "Times",
        "Georgia",
    ),
    "sans-serif": (
        "DejaVu Sans",
        "Liberation Sans",
        "Noto Sans",
        "Arial",
        "Helvetica",
        "Segoe UI",
    ),
    "monospace": (
        "DejaVu Sans Mono",
        "Liberation Mono",
        "Noto Sans Mono",
        "Courier New",
        "Menlo",
        "Consolas",
    ),
}
"""Families by generic family; the first available one is taken."""

GENERIC_ALIASES = {
    "sans": "sans-serif",
    "system-ui": "sans-serif",
    "ui-sans-serif": "sans-serif",
    "ui-serif": "serif",
    "ui-monospace": "monospace",
}

_KINDS = {"sans-serif": ("sans", "mono"), "serif": ("serif", "sans"), "monospace": ("mono", "\n")}
"""What the name of a family has in it that is of a kind, and what it has not."""

_NORMAL, _MEDIUM = 400.0, 500.0
_BOLD = 600.0


@dataclass(frozen=True, slots=True)
class FontRequest:
    """The font that a style asks for: families in order, weight, width in percent, slant."""

    families: tuple[str, ...]
    weight: float = _NORMAL
    width: float = 100.0
    slanted: bool = False


def families_alike(generic: str, names: Iterable[str]) -> list[str]:
    """Those of the families whose names say that they are of a generic one.

    The shortest name comes first, for it has the least of a special purpose. All are in lower case.
    """
    generic = GENERIC_ALIASES.get(generic, generic)
    if generic not in _KINDS:
        return []
    word, other = _KINDS[generic]
    alike = [name for name in names if word in name and other not in name]
    return sorted(alike, key=lambda name: (len(name), name))


def font_request(style: Style) -> FontRequest:
    """The font that a style asks for."""
    stretch = style("font-stretch").lower()
    split = split_length(stretch)
    return FontRequest(
        families=parse_font_families(style("font-family")),
        weight=style.weight,
        width=split[0] if split and split[1] == "%" else STRETCHES.get(stretch, 100.0),
        slanted=style("font-style").lower().startswith(("italic", "oblique")),
    )


def parse_font_families(text: str) -> tuple[str, ...]:
    """The names in a font-family list, unquoted; generic ones in lower case."""
    found: list[str] = []
    words: list[str] = []
    for token in [*tinycss2.parse_component_value_list(text), None]:
        if token is None or (token.type == "literal" and token.value == ","):
            name = " ".join(words)
            found += [name] if name else []
            words = []
        elif token.type == "string":
            words.append(token.value.strip())
        elif token.type not in {"whitespace", "comment"}:
            words.append(token.value if token.type == "ident" else token.serialize())
    return tuple(dict.fromkeys(found))


def best_face(faces: Iterable[Face], want: FontRequest) -> Face | None:
    """The face that fits best: by width, then slant, then weight; the first among equals."""
    return min(faces, key=lambda face: _distance(face, want), default=None)


def missing_style(face: Face, want: FontRequest) -> str:
    """Styles that were asked for and that the face lacks, in words; empty when it has all."""
    lacks = []
    if want.weight >= _BOLD > face.weight[1]:
        lacks.append("bold")
    if want.slanted and not face.slanted and not face.axes & {"slnt", "ital"}:
        lacks.append("italic")
    return " ".join(lacks)


def _distance(face: Face, want: FontRequest) -> tuple[float, ...]:
    slant = float(face.slanted is not want.slanted and not (want.slanted and _can_slant(face)))
    return (*_by_width(face.width, want.width), slant, *_by_weight(face.weight, want.weight))


def _can_slant(face: Face) -> bool:
    return bool(face.axes & {"slnt", "ital"})


def _by_width(held: Range, wanted: float) -> tuple[float, float]:
    """Narrower first where narrow or normal is wanted, wider first otherwise."""
    low, high = held
    if low <= wanted <= high:
        return 0.0, 0.0
    narrower = high < wanted
    preferred = narrower if wanted <= 100 else not narrower  # noqa: PLR2004 - percent
    return (1.0 if preferred else 2.0), min(abs(low - wanted), abs(high - wanted))


def _by_weight(held: Range, wanted: float) -> tuple[float, float]:
    low, high = held
    if low <= wanted <= high:
        return 0.0, 0.0
    if _NORMAL <= wanted <= _MEDIUM and wanted < low <= _MEDIUM:
        return 1.0, low - wanted
    lighter = high < wanted
    preferred = lighter if wanted <= _MEDIUM else not lighter
    return (2.0 if preferred else 3.0), min(abs(low - wanted), abs(high - wanted))
