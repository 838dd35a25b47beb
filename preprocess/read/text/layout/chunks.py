"""Positions of clusters: chunks, anchors, shifts and paths. Source: SVG 2, section 11.5."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.read.text.layout.baseline import baseline_drop
from preprocess.read.text.layout.positions import GlyphPosition, letter_positions
from preprocess.read.text.layout.runs import Cluster, shaped_clusters, shaping_runs
from preprocess.read.text.layout.text_length import apply_text_length
from preprocess.read.text.layout.text_path import Track, text_path_track

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from cssselect2 import ElementWrapper

    from preprocess.read.fonts.font import Font
    from preprocess.read.scene.scene import Scene
    from preprocess.read.text.letters import Letter, Span


@dataclass(frozen=True, slots=True)
class PlacedCluster:
    """A cluster in place: the left end of its baseline, and its turn in radians.

    It is turned by `angle` about (x, y) and moved by `aside` and `drop` along the turned axes: on
    a path it turns about the middle of its width; on a straight line both are 0.
    """

    cluster: Cluster
    x: float
    y: float
    angle: float = 0.0
    aside: float = 0.0
    drop: float = 0.0


@dataclass(frozen=True, slots=True)
class _Chunk:
    """Letters that are anchored together, with their clusters from left to right."""

    letters: range
    clusters: list[Cluster]
    backwards: bool


@dataclass(slots=True)
class _Pen:
    """Current text position, and the sums of dx and dy so far."""

    x: float = 0.0
    y: float = 0.0
    dx: float = 0.0
    dy: float = 0.0


def place_clusters(
    scene: Scene, letters: Sequence[Letter], fonts: Sequence[Font]
) -> Iterator[PlacedCluster]:
    """Place the letters of a text element, in user units."""
    positions = letter_positions(scene, letters)
    text = "".join(letter.character for letter in letters)
    parts = _chunks(letters, positions)
    chunks = [_shaped(scene, letters, fonts, part, text) for part in parts]
    widths = apply_text_length(
        scene, letters, [cluster for chunk in chunks for cluster in chunk.clusters]
    )
    pen, path, track = _Pen(), None, None
    for chunk in chunks:
        first = letters[chunk.letters.start].span
        if first.path is not path:
            if track is not None:
                pen = _Pen(*track.finish)
            path = first.path
            track = None if path is None else _track(scene, path, first)
            if path is not None:
                pen = _Pen()
        clusters = [widths[cluster.letter] for cluster in chunk.clusters]
        placed = _placed(scene, letters, positions, replace(chunk, clusters=clusters), pen)
        if path is None:
            yield from placed
        elif track is not None:
            yield from _along(scene, track, placed)


def _chunks(letters: Sequence[Letter], positions: Sequence[GlyphPosition]) -> Iterator[range]:
    first = 0
    for at in range(1, len(letters) + 1):
        if at == len(letters) or _begins(letters, positions, at):
            yield range(first, at)
            first = at


def _begins(letters: Sequence[Letter], positions: Sequence[GlyphPosition], at: int) -> bool:
    span, position = letters[at].span, positions[at]
    moved = position.x is not None or (position.y is not None and span.path is None)
    return moved or span.path is not letters[at - 1].span.path


def _shaped(
    scene: Scene, letters: Sequence[Letter], fonts: Sequence[Font], part: range, text: str
) -> _Chunk:
    backwards = letters[part.start].span.style("direction").lower() == "rtl"
    runs = shaping_runs(letters, fonts, part, backwards=backwards)
    return _Chunk(part, shaped_clusters(scene, letters, runs, text), backwards)


def _track(scene: Scene, path: ElementWrapper, span: Span) -> Track | None:
    while span.element is not path and span.parent is not None:
        span = span.parent
    return text_path_track(scene, path, span)


def _placed(
    scene: Scene,
    letters: Sequence[Letter],
    positions: Sequence[GlyphPosition],
    chunk: _Chunk,
    pen: _Pen,
) -> list[PlacedCluster]:
    """The clusters of a chunk along a straight line; moves the pen to its end."""
    first = positions[chunk.letters.start]
    if first.x is not None:
        pen.x, pen.dx = first.x, 0.0
    if first.y is not None and letters[chunk.letters.start].span.path is None:
        pen.y, pen.dy = first.y, 0.0
    shifts = _shifts(positions, chunk.letters, pen)
    width = sum(cluster.advance for cluster in chunk.clusters)
    left = pen.x - width if chunk.backwards else pen.x
    found = []
    for cluster in chunk.clusters:
        dx, dy = shifts[cluster.letter]
        drop = baseline_drop(scene, cluster.span, cluster.font)
        turn = math.radians(positions[cluster.letter].rotate or 0.0)
        found.append(PlacedCluster(cluster, left + dx, pen.y + dy + drop, turn))
        left += cluster.advance
    anchor = letters[chunk.letters.start].span.style("text-anchor")
    move = _anchored(found, pen.x + shifts[chunk.letters.start][0], anchor.lower(), chunk)
    pen.x += -width if chunk.backwards else width
    return [replace(one, x=one.x + move) for one in found]


def _shifts(
    positions: Sequence[GlyphPosition], part: range, pen: _Pen
) -> dict[int, tuple[float, float]]:
    """The sum of dx and dy up to each letter."""
    found = {}
    for number in part:
        pen.dx += positions[number].dx or 0.0
        pen.dy += positions[number].dy or 0.0
        found[number] = (pen.dx, pen.dy)
    return found


def _anchored(placed: Sequence[PlacedCluster], to: float, anchor: str, chunk: _Chunk) -> float:
    """Shift that brings the start, middle or end of a chunk to `to`."""
    ends = [end for one in placed for end in (one.x, one.x + one.cluster.advance)]
    if not ends:
        return 0.0
    low, high = min(ends), max(ends)
    if anchor == "middle":
        return to - (low + high) / 2
    return to - (low if (anchor == "start") is not chunk.backwards else high)


def _along(scene: Scene, track: Track, placed: Sequence[PlacedCluster]) -> Iterator[PlacedCluster]:
    """The clusters on a path; those whose middle lies beyond its ends are not drawn."""
    for one in placed:
        half = one.cluster.advance / 2
        found = track.at(track.offset + one.x + half)
        if found is None:
            span = one.cluster.span
            scene.say(span.visit, "text-beyond-path")
            continue
        x, y, angle = found
        yield replace(one, x=x, y=y, angle=angle + one.angle, aside=-half, drop=one.y)
