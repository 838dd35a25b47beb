"""A first recipe for one drawing, commented with what was measured on it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from preprocess.recipe.starter.drawing_measures import FIRST_PITCH, HAIRLINE, NARROW_TIP

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.recipe.starter.drawing_measures import DrawingMeasures
    from preprocess.recipe.starter.shape_groups import ShapeGroup

_LISTED = 6
_COLUMN = 58


def first_recipe(found: DrawingMeasures, design: str | None, title: str) -> str:
    """The text of a recipe that runs on the drawing.

    Args:
        found: what was measured.
        design: the drawing's path as seen from the recipe; None when it came through a pipe.
        title: what to call the drawing.
    """
    blocks = [_head(found, design, title), _place(), _part(found), _fonts(found), _layers(found)]
    blocks += [_settings(found), _passes(found)]
    return "\n".join("\n".join(block) for block in blocks if block) + "\n"


def _head(found: DrawingMeasures, design: str | None, title: str) -> list[str]:
    width, height = found.page.width, found.page.height
    lines = [
        f"# A first recipe for {_plain(title)}. Each comment says what was measured on the drawing",
        "# or what you have to find out; change what you know better.",
        "recipe: 1",
    ]
    size = f"page {width:.6g} × {height:.6g} mm ({_plain(found.page.size_from)}),"
    lines += [f"# {size}", f"# artwork {found.size[0]:.4g} × {found.size[1]:.4g} mm"]
    return [*lines, f"design: {_quoted(design)}"] if design else lines


def _place() -> list[str]:
    return [
        "",
        "# What the drawing cannot tell. Take away the # and put in your own; more keys are in",
        "# docs/reference/recipe.md. Each that is missing turns off named checks.",
        "# machine: {name: bench, field: [130 mm, 90 mm], spot: 0.06 mm, turnaround: 1.2 ms}",
        "# filament: {name: moss-green PETG}",
    ]


def _part(found: DrawingMeasures) -> list[str]:
    if found.part is None:
        return [
            "# part: {outline: [60 mm, 30 mm], thickness: 3 mm}",
            '#   or the id of its outline in the drawing: {outline: "#label-edge"}',
        ]
    width, height = found.edge
    return [
        f"# #{found.part} is a fine closed line around all the rest: taken as the part's outline,",
        "# which is never marked. Take this line out if it is a frame to be marked.",
        f'part: {{outline: "#{found.part}"}}'.ljust(_COLUMN) + f"  # {width:.4g} × {height:.4g} mm",
    ]


def _fonts(found: DrawingMeasures) -> list[str]:
    if found.substitute is None:
        return []
    return [
        "",
        "# The drawing asks for fonts that are not at hand, so another stands in: the letters look",
        "# otherwise. Better put the fonts into a folder (folder: fonts), or convert the text.",
        f"fonts: {{substitute: {found.substitute}}}",
    ]


def _layers(found: DrawingMeasures) -> list[str]:
    grouping = found.grouping
    if grouping.by is None:
        return [
            "",
            f"# Layers: {_listed(grouping.labels)}.",
            f"# Colours: {_listed(grouping.colours)}.",
            "# No layers are made of them here: all areas are engraved alike, all lines scored",
            "# alike. Choose by label, colour or CSS selector:",
            "# layers:",
            '#   - {name: leaves, operation: engrave, choose: {colour: "#2f5d3a"}}',
        ]
    by = "layer of the drawing" if grouping.by == "label" else "colour"
    lines = [
        "",
        f"# One entry to each {by}. operation: engrave (rows), score (traced), cut, or guide",
        "# (for the eye, never marked).",
        "layers:",
    ]
    for group in grouping.groups:
        choose = f"{{{grouping.by}: {_quoted(group.value)}}}"
        rule = f"  - {{name: {group.name}, operation: {group.operation}, choose: {choose}}}"
        lines += [f"  # {_counts(group)}", rule]
    return lines


def _counts(group: ShapeGroup) -> str:
    parts = [_many(group.areas, "area")] if group.areas else []
    if group.strokes:
        strokes = _many(len(group.strokes), "stroke")
        parts.append(f"{strokes}, {_between(group.strokes)} mm wide")
    return "; ".join(parts)


def _settings(found: DrawingMeasures) -> list[str]:
    lines = [
        "",
        "# Power and speed are in no drawing: begin low, on a spare part of the same spool.",
        "settings:",
    ]
    pitch = f"{FIRST_PITCH:g} mm"
    if found.area > 0:
        lines.append(f"  # the thinnest of {_many(found.pieces, 'engraved piece')} is, at its")
        lines.append(
            f"  # widest, {found.thinnest:.3g} mm: {found.thinnest / FIRST_PITCH:.2g} rows"
        )
    lines.append(
        f"  engrave: {{power: 30 %, speed: 900 mm/s, pitch: {pitch}, "
        "direction: one-way, angle: 0 deg}"
    )
    lines.append("  score: {power: 20 %, speed: 250 mm/s}")
    return lines


def _passes(found: DrawingMeasures) -> list[str]:
    steps = [*_strokes(found)]
    if found.area > 0:
        pieces = f"{_many(found.pieces, 'piece')}, {found.area:.4g} mm²"
        steps += ["  - merge".ljust(_COLUMN) + f"  # {pieces}", *_tips(found), *_evenness(found)]
    place = "  # - place: {width: 60 mm}".ljust(_COLUMN)
    steps.insert(0, f"{place}  # the artwork is {found.size[0]:.4g} mm wide")
    some = any(not line.startswith("  #") for line in steps)
    return ["passes:" if some else "passes: []", *steps]


def _strokes(found: DrawingMeasures) -> Iterator[str]:
    if not found.strokes:
        return
    wide = sum(width > HAIRLINE for width in found.strokes)
    count = _many(len(found.strokes), "stroke")
    yield f"  # {count}, {_between(found.strokes)} mm wide: {wide} become areas, the others stay"
    yield f"  # lines, since they hold no more than {HAIRLINE / FIRST_PITCH:.0f} rows"
    yield f"  - strokes-to-areas: {{wider_than: {HAIRLINE:g} mm}}"


def _tips(found: DrawingMeasures) -> Iterator[str]:
    fine, narrow = (100 * area / found.area for area in found.narrow.values())
    yield f"  # widest place {found.widest:.3g} mm; {narrow:.2g} % of the area is narrower than"
    tips = _many(found.tips, "narrow end")
    yield f"  # {NARROW_TIP:g} mm, {fine:.2g} % than {2 * FIRST_PITCH:g} mm; {tips}"
    off = "" if found.tips else "# "
    yield f"  {off}- inset-tips: {{narrower_than: {NARROW_TIP:g} mm, by: 0.05 mm}}"


def _evenness(found: DrawingMeasures) -> Iterator[str]:
    rows = found.rows
    if rows is None:
        return
    spans = f"{rows.shortest:.3g} to {rows.longest:.3g} mm wide, half of them under "
    yield f"  # {_many(rows.count, 'row')}, {spans}{rows.median:.3g} mm:"
    if rows.longest < 1.5 * rows.shortest:
        yield "  # nearly alike, so the beam comes back after like times"
        return
    yield "  # short rows come back sooner and get hotter. Levels of power, solved by prediction:"
    yield "  # - tag-power: {by: heat, levels: 3}"
    if found.part is not None:
        yield "  # or bars beside the part, which mark the matt card that must lie there:"
        yield "  # - equalize-width: {clearance: 2 mm, bar: 0.6 mm}"
    yield "  # with tag-power, last of all:"
    yield "  # - solve-power"


def _listed(counts: Sequence[tuple[str | None, int]]) -> str:
    shown = [f"{_plain(value) if value else 'none'} ({n})" for value, n in counts[:_LISTED]]
    more = len(counts) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more > 0 else "") or "none"


def _between(values: Sequence[float]) -> str:
    low, high = f"{min(values):.3g}", f"{max(values):.3g}"
    return low if low == high else f"{low} to {high}"


def _many(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _plain(text: str) -> str:
    """Text that may stand in a comment: on one line, without what YAML does not allow."""
    return "".join(c if c.isprintable() else " " for c in text)[:80]


def _quoted(text: str) -> str:
    """A YAML string in double quotes."""
    return "".join(_escaped(c) for c in json.dumps(text, ensure_ascii=False))


def _escaped(char: str) -> str:
    if char.isprintable():
        return char
    return f"\\U{ord(char):08x}"
