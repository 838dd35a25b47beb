"""Clusters: the smallest pieces of shaped text, with their width in user units."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.read.fonts.font import Font, Glyph, Passage
from preprocess.read.text.bidi import as_seen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.read.scene.scene import Scene
    from preprocess.read.text.layout.runs import ShapingRun
    from preprocess.read.text.letters import Letter, Span


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


def clusters_of(
    scene: Scene, letters: Sequence[Letter], runs: Sequence[ShapingRun], text: str
) -> list[Cluster]:
    """The clusters of a chunk from left to right."""
    shaped = [_shaped(scene, letters, run, text) for run in runs]
    seen = as_seen(shaped, [run.level for run in runs])
    return [cluster for run in seen for cluster in run]


def _shaped(scene: Scene, letters: Sequence[Letter], run: ShapingRun, text: str) -> list[Cluster]:
    before = max(run.start - _CONTEXT, 0)
    glyphs = run.font.shape(
        Passage(
            text=text[before : run.stop + _CONTEXT],
            start=run.start - before,
            stop=run.stop - before,
            backwards=run.level % 2 == 1,
            script=run.script,
            language=run.language,
            features=run.features,
        )
    )
    grouped: dict[int, list[Glyph]] = {}
    for glyph in glyphs:
        grouped.setdefault(before + glyph.letter, []).append(glyph)
    scale = run.span.style.font / run.font.units
    return [
        _spaced(
            scene,
            letters[first],
            Cluster(
                first, letters[first].span, run.font, scale, tuple(group), _width(group, scale)
            ),
        )
        for first, group in grouped.items()
    ]


def _width(glyphs: Sequence[Glyph], scale: float) -> float:
    return sum(glyph.advance for glyph in glyphs) * scale


def _spaced(scene: Scene, letter: Letter, bare: Cluster) -> Cluster:
    """A cluster with what letter and word spacing add."""
    style, units = letter.span.style, scene.units(letter.span.context)
    added = units.length(style("letter-spacing"))
    if letter.character in _BETWEEN_WORDS:
        added += units.length(style("word-spacing"))
    return replace(bare, advance=bare.advance + added) if added else bare
