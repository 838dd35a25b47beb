"""Entering an element: its style, its transform, its opacity, and what it is called."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.read.style.colours import alpha_value
from preprocess.read.style.element_style import placed_style, shared_style
from preprocess.read.xml.affine import IDENTITY, BoundingBox, times, transform_of, translation
from preprocess.read.xml.elements import SHAPES
from preprocess.read.xml.lengths import Units, split_length
from preprocess.read.xml.names import layer_label

if TYPE_CHECKING:
    from cssselect2 import ElementWrapper

    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.scene import Scene
    from preprocess.read.style.computed import Style

BoundsOf = Callable[["RenderContext"], "BoundingBox | None"]

_GROUPS = frozenset({"g", "a", "svg", "symbol", "use", "switch"})
_WORDS = {"left": "0%", "top": "0%", "center": "50%", "right": "100%", "bottom": "100%"}
_FILL = frozenset({"fill-box", "content-box"})
_VERTICAL = frozenset({"top", "bottom"})
_HORIZONTAL = frozenset({"left", "right"})
_MOST_LIKES = 1000


def entered(
    scene: Scene,
    element: ElementWrapper,
    context: RenderContext,
    place: str,
    origin: str = "0 0",
    bounds: BoundsOf | None = None,
) -> RenderContext:
    """The context inside an element, but for its clips.

    `origin` is the initial transform-origin; that of the outermost svg is the middle of its box.
    `bounds` measures the element in its own user units, for transforms that refer to its box.
    """
    style, shape = (
        shared_style(scene.cascade, element, context.style, scene.units(context)),
        element.local_name in SHAPES,
    )
    selectors = scene.choices.matching(element)
    if not shape or "transform" in element.etree_element.attrib:
        style = placed_style(scene.cascade, element, style, quiet=False)
    elif selectors <= context.selectors and style.once(_is_plain):
        return _among_likes(context, style)
    label, group = context.label, context.group
    if element.local_name in _GROUPS and element.parent is not None:
        label, group = layer_label(element) or label, element.id or group
    own, text = IDENTITY, _transforms(style)
    if text:
        styled = replace(context, style=style)
        own = _transform(scene, element, styled, text, (place, origin), bounds)
    inner = replace(
        context,
        style=style,
        matrix=times(context.matrix, own),
        alpha=context.alpha
        if context.silhouette
        else context.alpha * alpha_value(style("opacity")),
        label=label,
        group=group,
        selectors=context.selectors | selectors,
    )
    hidden = style("display").lower() == "none" or inner.alpha == 0
    if not hidden or inner.hidden:
        return inner
    if not context.silhouette:
        scene.say(inner, "hidden", context.name_of(element, place), element)
    return replace(inner, hidden=True)


def _is_plain(style: Style) -> bool:
    """Whether the style neither moves nor veils nor hides its element."""
    shown = style("display").lower() != "none" and style("opacity") == "1"
    return shown and not _transforms(style)


def _among_likes(context: RenderContext, style: Style) -> RenderContext:
    """The context of a shape in which nothing but the style is new: one for all of its likes."""
    found: RenderContext | None = context.kept.get(id(style))
    if found is None or found.style is not style:
        found = replace(context, style=style)
        if len(context.kept) < _MOST_LIKES:
            context.kept[id(style)] = found
    return found


def _transform(
    scene: Scene,
    element: ElementWrapper,
    context: RenderContext,
    text: str,
    where: tuple[str, str],
    bounds: BoundsOf | None,
) -> Matrix:
    """The map of an element whose style `context` holds."""
    style, (place, default) = context.style, where
    name, units = context.name_of(element, place), scene.units(context)
    corner, box = (
        (0.0, 0.0),
        bounds(context) if bounds and style("transform-box") in _FILL else None,
    )
    if box is not None:
        corner = box[:2]
        units = replace(units, box=(box[2] - box[0], box[3] - box[1]))
    elif style("transform-box") != "view-box":
        scene.say(context, "bad-value", name, element, f"transform-box {style('transform-box')}")
    matrix = transform_of(text, units)
    if matrix is None:
        scene.say(context, "bad-value", name, element, f"transform {text[:40]!r}")
        return IDENTITY
    x, y = _origin(style("transform-origin") or default, units)
    x, y = x + corner[0], y + corner[1]
    return times(times(translation(x, y), matrix), translation(-x, -y)) if x or y else matrix


def _transforms(style: Style) -> str:
    """The properties translate, rotate, scale and transform as one list, in their order."""
    found = [
        f"{name}({','.join(text.split())})"
        for name in ("translate", "rotate", "scale")
        if (text := style(name)).lower() != "none"
    ]
    text = style("transform")
    return " ".join([*found, *([text] if text != "none" else [])])


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
