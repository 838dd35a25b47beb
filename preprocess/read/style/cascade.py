"""The cascade: declarations of style sheets and attributes for an element, weakest first."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import cssselect2
import tinycss2

from preprocess.read.messages.remarks import Remark, Remarks
from preprocess.read.style.font_shorthand import font_longhands
from preprocess.read.style.properties import CSS_ONLY, PROPERTIES, is_valid
from preprocess.read.style.selector_matcher import compile_selectors
from preprocess.read.xml.elements import element_path

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from cssselect2 import ElementWrapper


@dataclass(frozen=True, slots=True)
class Declaration:
    """One property set to one value."""

    name: str
    value: str
    important: bool = False


DeclarationBlock = tuple[Declaration, ...]


class Cascade:
    """The style sheets of one document, ready to be asked about its elements."""

    def __init__(self, root: ElementWrapper, remarks: Remarks) -> None:
        self._matcher = cssselect2.Matcher()
        self._empty = True
        self._simple = True
        self._found: dict[tuple[str | None, ...], tuple[DeclarationBlock, ...]] = {}
        self._remarks = remarks
        for element in _style_elements(root):
            if self._is_for_us(element):
                text = "".join(element.etree_element.itertext())
                self._add(tinycss2.parse_stylesheet(text, True, True), element)  # noqa: FBT003

    def declared(self, element: ElementWrapper) -> dict[str, str]:
        """Declarations of an element after the cascade; `inherit` and var() as written."""
        attributes = element.etree_element.attrib.items()
        found, wrong = cascade_declarations(self.rules(element), attributes, element.local_name)
        self.tell(element, wrong)
        return found

    def rules(self, element: ElementWrapper) -> tuple[DeclarationBlock, ...]:
        """The blocks of declarations of the style sheets for an element, weakest first."""
        if self._empty:
            return ()
        if not self._simple:
            return self._matched(element)
        asked = element.etree_element.get
        key = (element.namespace_url, element.local_name, asked("class"), asked("id"))
        if key[3] not in self._matcher.id_selectors:
            key = (*key[:3], None)
        if key not in self._found:
            self._found[key] = self._matched(element)
        return self._found[key]

    def _matched(self, element: ElementWrapper) -> tuple[DeclarationBlock, ...]:
        matches = self._matcher.match(element)
        return tuple([block for _, _, pseudo, block in matches if pseudo is None])

    def tell(self, element: ElementWrapper, wrong: Iterable[str]) -> None:
        """Remark on declarations of an element that cannot be read."""
        for one in wrong:
            self._say("style-value-ignored", element, one)

    def _add(self, rules: Iterable[object], element: ElementWrapper, parent: str = "") -> None:
        for rule in rules:
            kind = getattr(rule, "type", "")
            if kind == "qualified-rule":
                self._add_rule(rule, element, parent)
            elif kind == "at-rule":
                self._add_at_rule(rule, element)

    def _add_rule(
        self, rule: tinycss2.ast.QualifiedRule, element: ElementWrapper, parent: str
    ) -> None:
        text = _within(tinycss2.serialize(rule.prelude).strip(), parent)
        try:
            selectors = compile_selectors(text)
        except cssselect2.SelectorError:
            self._say("style-rule-ignored", element, text[:60])
            return
        content = tinycss2.parse_blocks_contents(rule.content)
        block, wrong = _sorted_out(content)
        self._simple = self._simple and _SIMPLE.fullmatch(text) is not None
        for selector in selectors:
            self._matcher.add_selector(selector, block)
            self._empty = False
        for one in wrong:
            self._say("style-value-ignored", element, one)
        self._add(content, element, text)

    def _add_at_rule(self, rule: tinycss2.ast.AtRule, element: ElementWrapper) -> None:
        keyword, prelude = rule.lower_at_keyword, tinycss2.serialize(rule.prelude).strip()
        if keyword == "import":
            self._say("style-import-ignored", element, f"@import {prelude[:60]}")
        elif rule.content is not None and not _NOT_FOR_SHAPES.fullmatch(keyword):
            holds = _holds(keyword, prelude)
            if holds:
                self._add(tinycss2.parse_rule_list(rule.content, True, True), element)  # noqa: FBT003
            elif holds is None:
                self._say("style-rule-ignored", element, f"@{keyword} {prelude[:60]}")

    def _is_for_us(self, element: ElementWrapper) -> bool:
        attributes = element.etree_element.attrib
        kind = attributes.get("type", "text/css").strip().lower()
        media = attributes.get("media", "")
        shown = media_query_matches(media)
        if kind in {"", "text/css"} and shown is None:
            self._say("style-rule-ignored", element, f"media {media[:60]!r}")
        return kind in {"", "text/css"} and bool(shown)

    def _say(self, kind: str, element: ElementWrapper, detail: str) -> None:
        line = element.etree_element.sourceline
        self._remarks.add(Remark(kind, element_path(element), line, detail))


def _style_elements(root: ElementWrapper) -> Iterator[ElementWrapper]:
    """The style elements in their order; branches without any are not looked through."""
    found = set(root.etree_element.iter("{*}style"))
    above = {parent for one in found for parent in one.iterancestors()}
    stack = [root]
    while stack:
        element = stack.pop()
        if element.etree_element in found:
            yield element
        if element.etree_element in above:
            stack.extend(reversed(list(element.iter_children())))


def cascade_declarations(
    rules: Sequence[DeclarationBlock], attributes: Iterable[tuple[str, str]], tag: str
) -> tuple[dict[str, str], tuple[str, ...]]:
    """Declarations of rules, attributes and the style attribute, and unreadable ones as text."""
    inline: DeclarationBlock = ()
    unread: Sequence[str] = ()
    properties = []
    for name, value in attributes:
        if name == "style":
            inline, unread = _read(value)
        elif name in PROPERTIES:
            properties.append((name, value))
    found, wrong = attribute_declarations(properties, tag)
    for important in (False, True):
        for block in (*rules, inline):
            for declaration in block:
                if declaration.important is important:
                    found[declaration.name] = declaration.value
    return found, (*unread, *wrong)


def attribute_declarations(
    properties: Iterable[tuple[str, str]], tag: str
) -> tuple[dict[str, str], list[str]]:
    """Declarations of presentation attributes, and unreadable ones as text."""
    found: dict[str, str] = {}
    wrong: list[str] = []
    for name, text in properties:
        value = text.strip()
        if name == "d" or is_valid(name, value, css=False):
            found[name] = value
        elif name not in CSS_ONLY and not (name in "xy" and tag in _LETTERING):
            wrong.append(f"{name}={text[:40]!r}")
    return found, wrong


_SIMPLE = re.compile(r"[\w.#*-]+(\s*,\s*[\w.#*-]+)*")
"""Selectors that ask for nothing but the name, the class and the id of an element itself."""

_LETTERING = frozenset({"text", "tspan", "textPath", "tref", "altGlyph"})
"""Elements whose x and y are lists."""

_NOT_FOR_SHAPES = re.compile(
    "charset|color-profile|counter-style|font-face|font-feature-values|(-moz-|-webkit-)?keyframes|"
    r"namespace|page|property|view-transition"
)
_HOLDS = frozenset(
    {
        "all",
        "screen",
        "only all",
        "only screen",
        "not print",
        "not speech",
        "(prefers-color-scheme:light)",
        "(prefers-reduced-motion:no-preference)",
    }
)
_CANNOT_HOLD = re.compile(r"\((prefers-|forced-colors|inverted-colors|monochrome)")


def _within(selector: str, parent: str) -> str:
    """The selector of a rule that stands within another."""
    if not parent:
        return selector
    if "&" in selector:
        return selector.replace("&", f":is({parent})")
    return f":is({parent}) :is({selector})"


def _holds(keyword: str, prelude: str) -> bool | None:
    """Test whether the condition of an at-rule holds; None where it cannot be tested."""
    if keyword == "media":
        return media_query_matches(prelude)
    if keyword == "supports":
        return not prelude.lower().startswith("not")
    return True if keyword == "layer" else None


def media_query_matches(query: str) -> bool | None:
    """Test whether a media query matches a still image; None where it cannot be tested."""
    if not query.strip():
        return True
    answers = [_one_holds(part) for part in query.lower().split(",")]
    if any(answers):
        return True
    return None if None in answers else False


def _one_holds(query: str) -> bool | None:
    words = [" ".join(word.split()) for word in query.split(" and ")]
    tests = [re.sub(r"\s*:\s*", ":", word) for word in words]
    if all(test in _HOLDS for test in tests):
        return True
    open_ones = [t for t in tests if t not in _HOLDS]
    unknown = all(t.startswith("(") and not _CANNOT_HOLD.match(t) for t in open_ones)
    return None if unknown else False


@lru_cache(16384)
def _read(text: str) -> tuple[tuple[Declaration, ...], tuple[str, ...]]:
    return _sorted_out(tinycss2.parse_blocks_contents(text))


def _sorted_out(content: Iterable[object]) -> tuple[tuple[Declaration, ...], tuple[str, ...]]:
    """Declarations that count, and those of known properties that cannot be read, as text."""
    found, wrong = [], []
    for node in content:
        if not isinstance(node, tinycss2.ast.Declaration):
            continue
        name = node.name if node.name.startswith("--") else node.lower_name
        value = _text(node.value)
        for longhand, part in _longhands(name, value):
            if is_custom_or_valid(longhand, part):
                found.append(Declaration(longhand, part, node.important))
            elif longhand in PROPERTIES:
                wrong.append(f"{name}: {value[:40]}")
    return tuple(found), tuple(dict.fromkeys(wrong))


def _text(tokens: list[tinycss2.ast.Node]) -> str:
    return tinycss2.serialize([token for token in tokens if token.type != "comment"]).strip()


def is_custom_or_valid(name: str, value: str) -> bool:
    """Test whether a CSS declaration is valid; one with var() is tested after its replacement."""
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
