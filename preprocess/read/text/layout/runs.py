"""Stretches of letters that are shaped as a whole: one span, font, script and direction."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fontTools.unicodedata import script

from preprocess.read.fonts.font import Font, Glyph, ShapingStyle
from preprocess.read.fonts.matching import missing_style
from preprocess.read.text.bidi import embedding_levels, visual_order

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.read.fonts.catalogue import FaceChoice
    from preprocess.read.scene.scene import Scene
    from preprocess.read.style.computed import Style
    from preprocess.read.text.letters import Letter, Span


_ANY_SCRIPT = frozenset({"Zyyy", "Zinh", "Zzzz"})
_LANG = ("{http://www.w3.org/XML/1998/namespace}lang", "lang")
_UNSEEN = frozenset({"Zs", "Cf", "Cc", "Mn", "Me"})
_APART = (("liga", 0), ("clig", 0))


@dataclass(frozen=True, slots=True)
class ShapingRun:
    """Letters `start` to `stop` of one span; no letter joins one of another span."""

    start: int
    stop: int
    span: Span
    font: Font
    style: ShapingStyle


def choose_fonts(scene: Scene, letters: Sequence[Letter]) -> list[Font] | None:
    """The font of each letter; None when one is missing, with a remark."""
    found: list[Font] = []
    whole = True
    last: tuple[Span, Font] | None = None
    for letter in letters:
        choice = scene.shelf.choose(letter.span.want)
        font = _font(scene, letter, choice, last)
        if font is None:
            _say_missing(scene, letter, choice)
            whole = False
            continue
        if choice.faces and letter.character != " ":
            _say_used(scene, letter.span, choice, font)
        found.append(font)
        last = letter.span, font
    return found if whole else None


def _font(
    scene: Scene, letter: Letter, choice: FaceChoice, last: tuple[Span, Font] | None
) -> Font | None:
    """The first font of the list that has the letter; marks and spaces take the font before."""
    unseen = unicodedata.category(letter.character) in _UNSEEN
    if unseen and last is not None and last[0].want == letter.span.want:
        font = last[1]
        if letter.character == " " or font.has(letter.character):
            return font
    fonts = [scene.shelf.font(face, letter.span.want) for face in choice.faces]
    drawn = next((font for font in fonts if font.has(letter.character)), None)
    return drawn or (fonts[0] if fonts and unseen else None)


def _say_missing(scene: Scene, letter: Letter, choice: FaceChoice) -> None:
    span, one = letter.span, letter.character
    if choice.faces:
        detail = f"{one!r} (U+{ord(one):04X}) in {choice.faces[0].label}"
        scene.say(span.visit, "letter-missing", detail)
    elif one != " ":
        scene.say(span.visit, "font-missing", _missing_font(scene, choice))


def _missing_font(scene: Scene, choice: FaceChoice) -> str:
    """The missing families, and the line of the recipe that takes a look-alike."""
    spare = scene.shelf.fonts.substitute
    detail = f"font {', '.join(choice.missing) or 'without a name'}"
    detail += f", nor its substitute {spare}" if spare else ""
    for name in choice.missing:
        same, similar = scene.shelf.look_alikes(name)
        if same:
            return f"{detail}; fonts: {{alike: true}} takes {same[0]}, of the same widths"
        if similar:
            return f"{detail}; fonts: {{substitute: {similar[0]}}} takes one of a similar name"
    return detail


def _say_used(scene: Scene, span: Span, choice: FaceChoice, font: Font) -> None:
    face = font.face
    scene.say(span.visit, "text-outlined", face.label)
    at = choice.faces.index(face)
    stands_for = choice.stands_for(face)
    if stands_for is not None:
        scene.say(span.visit, "font-alike", f"{face.label} for {stands_for}")
    elif at >= choice.asked:
        detail = f"{face.label} for {span.want.families[0] if span.want.families else 'no name'}"
        scene.say(span.visit, "font-substituted", detail)
    elif choice.missing and choice.missing[0] == span.want.families[0]:
        detail = f"{face.label} for {choice.missing[0]}"
        scene.say(span.visit, "font-alternative", detail)
    lacking = missing_style(face, span.want)
    if lacking:
        scene.say(span.visit, "font-lacks-style", f"{face.label}, not {lacking}")


def shaping_runs(
    letters: Sequence[Letter], fonts: Sequence[Font], chunk: range, *, backwards: bool
) -> list[ShapingRun]:
    """The runs of a chunk of letters in reading order."""
    part = [letters[number] for number in chunk]
    text = "".join(letter.character for letter in part)
    depths = embedding_levels(text, [one.span.embeddings for one in part], backwards=backwards)
    manners = {id(one.span): _manner(one.span) for one in part}
    keys = [
        (one.span, fonts[number], ShapingStyle(depth, written, *manners[id(one.span)]))
        for number, one, depth, written in zip(chunk, part, depths, _scripts(text), strict=True)
    ]
    return [
        ShapingRun(chunk.start + first, chunk.start + last, *keys[first])
        for first, last in _alike(keys)
    ]


def _alike(keys: Sequence[object]) -> Iterator[tuple[int, int]]:
    first = 0
    for at in range(1, len(keys) + 1):
        if at == len(keys) or keys[at] != keys[first]:
            yield first, at
            first = at


def _manner(span: Span) -> tuple[str, tuple[tuple[str, int], ...]]:
    """Language and features of a span."""
    node = span.element.etree_element
    said = (one.attrib.get(name) for one in (node, *node.iterancestors()) for name in _LANG)
    language = next((word for word in said if word), "en")
    style = span.style
    spaced = style("letter-spacing").lower() not in {"normal", "0"}
    small = (("smcp", 1),) if "small-caps" in style("font-variant").lower() else ()
    return language, (*(_APART if spaced else ()), *small, *_settings(style))


def _settings(style: Style) -> Iterator[tuple[str, int]]:
    """The features that `font-feature-settings` asks for."""
    for part in style("font-feature-settings").split(","):
        words = part.split()
        tag = words[0].strip("\"'") if words else ""
        value = words[1] if len(words) > 1 else "on"
        if len(tag) == 4 and tag.isascii():  # noqa: PLR2004 - as OpenType has it
            yield tag, {"on": 1, "off": 0}.get(value, int(value) if value.isdigit() else 1)


def _scripts(text: str) -> list[str]:
    """Script of each letter; common characters take that of the letter before, or after."""
    found = [script(one) for one in text]
    last = next((one for one in found if one not in _ANY_SCRIPT), "Zyyy")
    for at, one in enumerate(found):
        last = last if one in _ANY_SCRIPT else one
        found[at] = last
    return found


_CONTEXT = 8
"""Letters on either side that decide how those at the ends of a run are joined."""

_BETWEEN_WORDS = frozenset(" \u00a0")


@dataclass(frozen=True, slots=True)
class Cluster:
    """One or more letters that are drawn as one, such as a ligature or a letter with its accent.

    `letter` is the number of its first letter, `scale` the user units in a unit of the font,
    `advance` how far it leads in user units, `stretch` how much wider it is drawn than it is.
    """

    letter: int
    span: Span
    font: Font
    scale: float
    glyphs: tuple[Glyph, ...]
    advance: float
    stretch: float = 1.0


def shaped_clusters(
    scene: Scene, letters: Sequence[Letter], runs: Sequence[ShapingRun], text: str
) -> list[Cluster]:
    """The clusters of a chunk from left to right."""
    shaped = [_shaped(scene, letters, run, text) for run in runs]
    seen = visual_order(shaped, [run.style.level for run in runs])
    return [cluster for run in seen for cluster in run]


def _shaped(scene: Scene, letters: Sequence[Letter], run: ShapingRun, text: str) -> list[Cluster]:
    before = max(run.start - _CONTEXT, 0)
    text = text[before : run.stop + _CONTEXT]
    glyphs = run.font.shape(text, run.start - before, run.stop - before, run.style)
    grouped: dict[int, list[Glyph]] = {}
    for glyph in glyphs:
        grouped.setdefault(before + glyph.letter, []).append(glyph)
    scale = run.span.style.font / run.font.units
    found = []
    for first, group in grouped.items():
        width = sum(glyph.advance for glyph in group) * scale
        bare = Cluster(first, letters[first].span, run.font, scale, tuple(group), width)
        found.append(_spaced(scene, letters[first], bare))
    return found


def _spaced(scene: Scene, letter: Letter, bare: Cluster) -> Cluster:
    """A cluster with letter and word spacing added."""
    style, units = letter.span.style, scene.units(letter.span.context)
    added = units.length(style("letter-spacing"))
    if letter.character in _BETWEEN_WORDS:
        added += units.length(style("word-spacing"))
    return replace(bare, advance=bare.advance + added) if added else bare
