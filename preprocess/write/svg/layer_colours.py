"""Colours of the output layers: our order of a published colour-blind-safe set.

Source: M. Okabe and K. Ito, Color Universal Design (2002, revised 2008). Its yellow is left out,
since it cannot be seen on white; colours that stand out best on white come first.
"""

from __future__ import annotations

import re
from collections import Counter
from difflib import get_close_matches
from typing import TYPE_CHECKING

from preprocess.findings import stop, warn
from preprocess.model.artwork.own_marks import OwnMark, own_kind
from preprocess.write.svg.palette import palette_findings, palette_of
from preprocess.write.svg.too_many_layers import too_many_layers

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.findings import Finding
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.bench.machine import Machine

COLOURS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#000000", "#e69f00", "#56b4e9")
"""Blue, vermilion, bluish green, reddish purple, black, orange, sky blue."""

SPARE = "#767676"
"""Grey for layers beyond the last colour: nothing is written then, but a preview needs a tone."""

OWN_COLOURS = {OwnMark.ANCHORS: "#999999", OwnMark.PART: "#b8b8b8"}
"""Greys of our own guides, so that every colour of the set is left for what is marked."""

_COLOUR = re.compile(r"#[0-9a-f]{6}\Z")
_FAINT = 1.5


def assign_colours(
    outputs: Sequence[OutputLayer], overrides: Mapping[str, str], machine: Machine | None
) -> tuple[dict[str, str], tuple[Finding, ...]]:
    """Give each output layer its colour, in output order; overrides (by output id) win.

    Colours are those of the machine's palette where it has one, else ours. Our own guides take
    greys, or the last colours of the palette.

    Returns the colours as #rrggbb in small letters by output id, and what speaks against them.
    """
    own = {key: colour.strip().lower() for key, colour in overrides.items()}
    valid = {key: colour for key, colour in own.items() if _COLOUR.match(colour)}
    ids = list(dict.fromkeys(output.id for output in outputs))
    palette = palette_of(machine)
    free = [c for c in palette or COLOURS if c not in {valid.get(one) for one in ids}]
    marks = {o.id: kind for o in outputs if (kind := own_kind(o.shapes)) in OWN_COLOURS}
    for one, kind in marks.items():
        if one not in valid and (free or not palette):
            valid[one] = free.pop() if palette else OWN_COLOURS[kind]
    default = iter(free)
    colours = {one: valid.get(one) or next(default, SPARE) for one in ids}
    marked = [(one, colour) for one, colour in colours.items() if one not in marks]
    findings = [
        *_same_name(outputs),
        *_bad_overrides(own, ids),
        *palette_findings(own, marked, machine),
        *_shared(outputs, colours),
        *too_many_layers(outputs, len(free) + sum(one in valid for one in ids), machine),
    ]
    return colours, tuple(findings)


def contrast_ratio(one: str, other: str = "#ffffff") -> float:
    """Contrast of two colours, 1 to 21, by the Web Content Accessibility Guidelines 2.2."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]  # noqa: PLR2004 - the formula's own
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _same_name(outputs: Sequence[OutputLayer]) -> list[Finding]:
    counts = Counter(output.id for output in outputs)
    return [
        stop(
            "two-layers-one-name",
            f"{count} layers of the output would be called {name!r}",
            "rename one of them under layers:, so that each has its own colour and settings",
        )
        for name, count in counts.items()
        if count > 1
    ]


def _bad_overrides(own: Mapping[str, str], ids: Sequence[str]) -> list[Finding]:
    found = []
    for key, colour in own.items():
        if not _COLOUR.match(colour):
            message = f"colours: {key}: {colour!r} is no colour"
            remedy = "write six hexadecimal digits in quotes, such as '#0072b2'"
            found.append(stop("bad-colour", message, remedy))
        elif contrast_ratio(colour) < _FAINT:
            message = f"colours: {key}: {colour} can hardly be seen on white"
            found.append(warn("faint-colour", message, "choose a darker colour"))
        if key not in ids:
            found.append(warn("colour-without-layer", *_unknown(key, ids)))
    return found


def _unknown(key: str, ids: Sequence[str]) -> tuple[str, str]:
    near = get_close_matches(key, ids, n=1)
    hint = f"did you mean {near[0]}?" if near else f"the layers are {', '.join(ids) or 'none'}"
    return f"colours: {key}: the output has no layer of that name", hint


def _shared(outputs: Sequence[OutputLayer], colours: Mapping[str, str]) -> list[Finding]:
    users: dict[str, list[str]] = {}
    for key in dict.fromkeys(output.id for output in outputs):
        users.setdefault(colours[key], []).append(key)
    return [
        stop(
            "two-operations-on-one-colour",
            f"{' and '.join(keys)} share the colour {colour}; "
            "the laser software would give them the same settings",
            "give each its own under colours:, or take the line out to get the default",
        )
        for colour, keys in users.items()
        if len(keys) > 1 and colour != SPARE
    ]
