"""Context inside an element: style, transform, opacity, label."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.model.artwork.source import EnclosingGroups
from preprocess.read.scene.painted import Blend
from preprocess.read.style.colours import alpha_value
from preprocess.read.style.element_style import placed_style, shared_style
from preprocess.read.xml.affine import (
    IDENTITY,
    BoundingBox,
    compose,
    parse_transform_list,
    translation,
)
from preprocess.read.xml.elements import SHAPES, group_label, is_editor_layer
from preprocess.read.xml.lengths import Units, is_length, split_list

if TYPE_CHECKING:
    from cssselect2 import ElementWrapper

    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.visit import ElementVisit
    from preprocess.read.style.computed import Style

ContextBounds = Callable[["RenderContext"], "BoundingBox | None"]

_GROUPS = frozenset({"g", "a", "svg", "symbol", "use", "switch"})
_WORDS = {"left": "0%", "top": "0%", "center": "50%", "right": "100%", "bottom": "100%"}
_ISOLATING = ("isolation", "filter", "mask")
_FILL = frozenset({"fill-box", "content-box"})
_VERTICAL = frozenset({"top", "bottom"})
_HORIZONTAL = frozenset({"left", "right"})
_MOST_LIKES = 1000


def entered_context(
    scene: Scene,
    visit: ElementVisit,
    origin: str = "0 0",
    bounds: ContextBounds | None = None,
) -> RenderContext:
    """The context inside an element, but for its clips.

    `origin` is the initial transform-origin; that of the outermost svg is the middle of its box.
    `bounds` measures the element in its own user units, for transforms that refer to its box.
    """
    element, context = visit.element, visit.context
    style = shared_style(scene.cascade, element, context.style, scene.units(context))
    selectors = scene.choices.matching(element)
    if visit.tag not in SHAPES or "transform" in visit.attributes:
        style = placed_style(scene.cascade, element, style, quiet=False)
    elif selectors <= context.selectors and style.once(_is_plain):
        return _among_likes(context, style)
    enclosing = context.enclosing
    if visit.tag in _GROUPS and element.parent is not None:
        enclosing = _inside(enclosing, element)
    own, text = IDENTITY, _transforms(style)
    if text:
        own = _transform(scene, visit.inside(style=style), text, origin, bounds)
    faint = 1.0 if context.silhouette else alpha_value(style("opacity"))
    inner = replace(
        _mixed(visit, style),
        style=style,
        matrix=compose(context.matrix, own),
        alpha=context.alpha * faint,
        enclosing=enclosing,
        selectors=context.selectors | selectors,
    )
    hidden = style("display").lower() == "none" or inner.alpha == 0
    if not hidden or inner.hidden:
        return inner
    if not context.silhouette:
        scene.say(visit._replace(context=inner), "hidden")
    return replace(inner, hidden=True)


def _inside(enclosing: EnclosingGroups, element: ElementWrapper) -> EnclosingGroups:
    """The groups around the content of a group."""
    label, own = group_label(element), element.id
    if not label and not own:
        return enclosing
    return EnclosingGroups(
        labels=(*enclosing.labels, *([label] if label else [])),
        ids=(*enclosing.ids, *([own] if own else [])),
        layer=label if label and is_editor_layer(element) else enclosing.layer,
    )


def _mixed(visit: ElementVisit, style: Style) -> RenderContext:
    """The context with the element's blend mode, and with what puts its content together apart."""
    context, mode = visit.context, style("mix-blend-mode").lower()
    apart = context.apart or context.alpha < 1
    if mode != "normal" and not context.silhouette:
        alone = not apart and context.blend is None
        context = replace(context, blend=Blend(mode, visit.name, alone))
    isolates = any(style(name).lower() not in {"none", "auto"} for name in _ISOLATING)
    return replace(context, apart=apart or isolates) if apart or isolates else context


def _is_plain(style: Style) -> bool:
    """Test whether a style has no transform, full opacity, and is displayed."""
    shown = style("display").lower() != "none" and style("opacity") == "1"
    mixed = style("mix-blend-mode").lower() != "normal"
    return shown and not mixed and not _transforms(style)


def _among_likes(context: RenderContext, style: Style) -> RenderContext:
    """The context of a shape that only changes the style; shared by all such shapes."""
    found: RenderContext | None = context.kept.get(id(style))
    if found is None or found.style is not style:
        found = replace(context, style=style)
        if len(context.kept) < _MOST_LIKES:
            context.kept[id(style)] = found
    return found


def _transform(
    scene: Scene, visit: ElementVisit, text: str, default_origin: str, bounds: ContextBounds | None
) -> Matrix:
    """The map of an element whose context has its own style already."""
    style, units = visit.style, scene.units(visit.context)
    fills, corner, box = style("transform-box") in _FILL, (0.0, 0.0), None
    if bounds and fills:
        box = bounds(visit.context)
    if box is not None:
        corner = box[:2]
        units = units.within((box[2] - box[0], box[3] - box[1]))
    elif style("transform-box") != "view-box":
        scene.say(visit, "bad-value", f"transform-box {style('transform-box')}")
    matrix = parse_transform_list(text, units)
    if matrix is None:
        scene.say(visit, "bad-value", f"transform {text[:40]!r}")
        return IDENTITY
    x, y = _origin(style("transform-origin") or default_origin, units)
    x, y = x + corner[0], y + corner[1]
    return compose(compose(translation(x, y), matrix), translation(-x, -y)) if x or y else matrix


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
    words = [word.lower() for word in split_list(text)][:2]
    if words[0] in _VERTICAL or words[-1] in _HORIZONTAL:
        words.reverse()
    if len(words) == 1:
        words = ["center", *words] if words[0] in _VERTICAL else [*words, "center"]
    x, y = (_WORDS.get(word, word) for word in words)
    if not (is_length(x) and is_length(y)):
        return 0.0, 0.0
    return units.length(x, "x"), units.length(y, "y")
