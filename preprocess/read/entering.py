"""Entering an element: its style, its transform, its opacity, and what it is called."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.read.lengths import split_length
from preprocess.read.matrices import IDENTITY, times, transform_of, translation
from preprocess.read.names import label_of, name_of
from preprocess.read.paints import share
from preprocess.read.style import Style, computed

if TYPE_CHECKING:
    from cssselect2 import ElementWrapper

    from preprocess.model.shape import Matrix
    from preprocess.read.lengths import Units
    from preprocess.read.painted import Frame
    from preprocess.read.scene import Scene

GROUPS = frozenset({"g", "a", "svg", "symbol", "use", "switch"})
_WORDS = {"left": "0%", "top": "0%", "center": "50%", "right": "100%", "bottom": "100%"}
_VERTICAL = frozenset({"top", "bottom"})
_HORIZONTAL = frozenset({"left", "right"})


def entered(
    scene: Scene, element: ElementWrapper, frame: Frame, place: str, origin: str = "0 0"
) -> Frame:
    """The frame inside an element, but for its clips.

    `origin` is the initial transform-origin; that of the outermost svg is the middle of its box.
    """
    style = computed(scene.cascade.declared(element), frame.style, scene.units(frame))
    label, group = frame.label, frame.group
    if element.local_name in GROUPS and element.parent is not None:
        label, group = label_of(element) or label, element.id or group
    inner = replace(
        frame,
        style=style,
        matrix=times(frame.matrix, _transform(scene, element, frame, style, (place, origin))),
        alpha=frame.alpha if frame.silhouette else frame.alpha * share(style("opacity")),
        label=label,
        group=group,
        selectors=frame.selectors | scene.choices.matching(element),
    )
    hidden = style("display").lower() == "none" or inner.alpha == 0
    if not hidden or inner.hidden:
        return inner
    if not frame.silhouette:
        scene.say(inner, "hidden", name_of(element, frame, place), element)
    return replace(inner, hidden=True)


def _transform(
    scene: Scene, element: ElementWrapper, frame: Frame, style: Style, where: tuple[str, str]
) -> Matrix:
    text = style("transform")
    if text == "none":
        return IDENTITY
    place, default = where
    name = name_of(element, frame, place)
    if style("transform-box") != "view-box":
        scene.say(frame, "bad-value", name, element, "transform-box")
    units = scene.units(frame, style)
    matrix = transform_of(text, units)
    if matrix is None:
        scene.say(frame, "bad-value", name, element, f"transform {text[:40]!r}")
        return IDENTITY
    x, y = _origin(style("transform-origin") or default, units)
    return times(times(translation(x, y), matrix), translation(-x, -y)) if x or y else matrix


def _origin(text: str, units: Units) -> tuple[float, float]:
    words = [word.lower() for word in text.split()][:2]
    if words[0] in _VERTICAL or words[-1] in _HORIZONTAL:
        words.reverse()
    if len(words) == 1:
        words = ["center", *words] if words[0] in _VERTICAL else [*words, "center"]
    x, y = (_WORDS.get(word, word) for word in words)
    if not (split_length(x) and split_length(y)):
        return 0.0, 0.0
    return units.length(x, "x"), units.length(y, "y")
