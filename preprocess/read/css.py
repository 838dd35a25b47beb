"""Style sheets and style attributes: which declarations apply to an element, weakest first."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import cssselect2
import tinycss2

from preprocess.read.names import path_of
from preprocess.read.properties import PROPERTIES, URL, is_valid
from preprocess.read.text.shorthand import font_longhands

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from cssselect2 import ElementWrapper

    from preprocess.read.remarks import Remarks


@dataclass(frozen=True, slots=True)
class Declaration:
    """One property set to one value."""

    name: str
    value: str
    important: bool = False


class Cascade:
    """The style sheets of one document, ready to be asked about its elements."""

    def __init__(self, root: ElementWrapper, remarks: Remarks) -> None:
        self._matcher = cssselect2.Matcher()
        self._empty = True
        for element in root.iter_subtree():
            if element.local_name == "style" and _is_for_us(element):
                text = "".join(element.etree_element.itertext())
                self._add(tinycss2.parse_stylesheet(text, True, True), element, remarks)  # noqa: FBT003

    def declared(self, element: ElementWrapper) -> dict[str, str]:
        """What is declared for an element, after the cascade; `inherit` and var() as written."""
        sheet = [] if self._empty else self._matched(element)
        attributes = element.etree_element.attrib
        inline = declarations(attributes["style"]) if "style" in attributes else ()
        found = {
            name: value.strip()
            for name, value in attributes.items()
            if name in PROPERTIES and (name == "d" or is_valid(name, value.strip(), css=False))
        }
        for important in (False, True):
            for declaration in (*sheet, *inline):
                if declaration.important is important:
                    found[declaration.name] = declaration.value
        return found

    def _matched(self, element: ElementWrapper) -> list[Declaration]:
        matches = self._matcher.match(element)
        return [one for _, _, pseudo, block in matches if pseudo is None for one in block]

    def _add(self, rules: Iterable[object], element: ElementWrapper, remarks: Remarks) -> None:
        for rule in rules:
            kind = getattr(rule, "type", "")
            if kind == "qualified-rule":
                self._add_rule(rule)
            elif kind == "at-rule":
                self._add_at_rule(rule, element, remarks)

    def _add_rule(self, rule: tinycss2.ast.QualifiedRule) -> None:
        try:
            selectors = cssselect2.compile_selector_list(rule.prelude)
        except cssselect2.SelectorError:
            return
        block = tuple(_declarations(tinycss2.parse_blocks_contents(rule.content)))
        for selector in selectors:
            self._matcher.add_selector(selector, block)
            self._empty = False

    def _add_at_rule(
        self, rule: tinycss2.ast.AtRule, element: ElementWrapper, remarks: Remarks
    ) -> None:
        prelude = tinycss2.serialize(rule.prelude).strip()
        if rule.lower_at_keyword == "media" and rule.content and shows_on_screen(prelude):
            self._add(tinycss2.parse_rule_list(rule.content, True, True), element, remarks)  # noqa: FBT003
        elif rule.lower_at_keyword == "import":
            line = element.etree_element.sourceline
            remarks.add("style-import-ignored", path_of(element), line, f"@import {prelude[:60]}")


def _is_for_us(element: ElementWrapper) -> bool:
    attributes = element.etree_element.attrib
    kind = attributes.get("type", "text/css").strip().lower()
    return kind in {"", "text/css"} and shows_on_screen(attributes.get("media", ""))


def shows_on_screen(query: str) -> bool:
    """Whether a media query holds for a plain picture; queries about sizes never do."""
    parts = [part.strip().lower() for part in query.split(",")]
    return not query.strip() or any(
        part in {"all", "screen", "only screen", "only all"}
        or re.fullmatch(r"not (print|speech)", part)
        for part in parts
    )


@lru_cache(16384)
def declarations(text: str) -> tuple[Declaration, ...]:
    """The declarations of a style attribute."""
    return tuple(_declarations(tinycss2.parse_blocks_contents(text)))


def _declarations(content: Iterable[object]) -> Iterator[Declaration]:
    for node in content:
        if not isinstance(node, tinycss2.ast.Declaration):
            continue
        name = node.name if node.name.startswith("--") else node.lower_name
        value = _text(node.value)
        for longhand, part in _longhands(name, value):
            if is_custom_or_valid(longhand, part):
                yield Declaration(longhand, part, node.important)


def _text(tokens: list[tinycss2.ast.Node]) -> str:
    return tinycss2.serialize([token for token in tokens if token.type != "comment"]).strip()


def is_custom_or_valid(name: str, value: str) -> bool:
    """Whether a CSS declaration counts; what holds var() is judged when it is filled in."""
    if name.startswith("--"):
        return True
    return name in PROPERTIES and ("var(" in value or is_valid(name, value, css=True))


def _longhands(name: str, value: str) -> Iterator[tuple[str, str]]:
    if name == "marker":
        yield from ((f"marker-{where}", value) for where in ("start", "mid", "end"))
    elif name == "font":
        yield from font_longhands(value)
    elif name == "text-decoration-line":
        yield "text-decoration", value
    else:
        yield name, value


def reference(value: str) -> str | None:
    """What url(…) at the start of a value refers to, with its #; None when there is none."""
    match = URL.match(value.strip())
    return (match[1] or match[2] or match[3] or "") if match else None
