"""YAML 1.2 to plain values, with the line and column of each key and value.

Nothing in the file is run: only mappings, lists, texts, numbers, true, false and null are taken.
Size, depth and the expansion of aliases are bounded.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode
from ruamel.yaml.reader import ReaderError
from ruamel.yaml.scanner import Scanner

from preprocess.errors import Complaint, Place, UserError, wrong
from preprocess.loading.yaml.syntax_errors import explain_syntax_error, tab_complaints
from preprocess.loading.yaml.text_files import read_text

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

KeyPath = tuple[str | int, ...]
"""Keys and list positions from the root to a value."""

_DEEPEST = 50
_MOST_VALUES = 50_000
_MOST_BITS = 1000
_CORE = "tag:yaml.org,2002:"
_TEXTS = {"str", "timestamp", "merge", "value"}


@dataclass(frozen=True, slots=True)
class YamlDocument:
    """The values of one file, and where each key and value stands in it.

    `lines` are the lines of each file that values came from, for messages that look at what stands
    there. `subject` is what messages call the whole.
    """

    file: str
    data: dict[str, Any]
    lines: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    keys: Mapping[KeyPath, Place] = field(default_factory=dict)
    values: Mapping[KeyPath, Place] = field(default_factory=dict)
    subject: str = "the file"

    def at(self, path: KeyPath) -> Place:
        """Place of the value, or of the nearest value around it."""
        while path and path not in self.values:
            path = path[:-1]
        return self.values.get(path) or Place(self.file)

    def at_key(self, path: KeyPath) -> Place:
        """Place of the key; for items of a list, of the item."""
        return self.keys.get(path) or self.at(path)

    def line_at(self, place: Place) -> str:
        """The line of the file at a place; empty when there is none."""
        lines = self.lines.get(place.file, ())
        return lines[place.line - 1] if place.line and place.line <= len(lines) else ""


def load_yaml(path: Path, *, place: Place | None = None) -> YamlDocument:
    """Read a file; `place` is where another file names it.

    Raises:
        UserError: not readable, or not a YAML mapping.
    """
    return parse_yaml(read_text(path, place=place), str(path))


def parse_yaml(text: str, file: str) -> YamlDocument:
    """Turn the text of a file into values with places.

    Raises:
        UserError: not YAML, not one mapping, a key twice, a tag; every complaint at once.
    """
    tabs = tab_complaints(text, file)
    if tabs:
        raise UserError(tabs)
    root = _composed(text, file)
    if root is None:
        raise wrong("the file is empty", "write the keys, each as 'key: value'", place=Place(file))
    builder = _Builder(file)
    data = builder.build(root, (), 0)
    if not isinstance(root, MappingNode):
        found = f"the file holds {_kind(root)} where a mapping is due"
        raise wrong(found, "write it as lines of 'key: value'", place=builder.place(root))
    if builder.complaints:
        raise UserError(builder.complaints)
    lines = {file: tuple(text.splitlines())}
    return YamlDocument(file, data, lines, builder.keys, builder.values)


class _BoundedScanner(Scanner):
    """Gives up early: what it would take is the square of the depth of brackets."""

    def fetch_flow_collection_start(self, token_class: Any, to_push: str) -> None:
        if len(self.flow_context) >= _DEEPEST:
            raise RecursionError
        super().fetch_flow_collection_start(token_class, to_push)


def _reader() -> YAML:
    reader = YAML(typ="safe", pure=True)
    reader.Scanner = _BoundedScanner
    return reader


def _composed(text: str, file: str) -> Node | None:
    try:
        with warnings.catch_warnings(action="ignore"):  # an anchor may be set anew in YAML 1.2
            return _reader().compose(text)
    except MarkedYAMLError as error:
        raise UserError(explain_syntax_error(error, text, file)) from None
    except ReaderError as error:
        line = text.count("\n", 0, error.position) + 1
        found = f"a control character (code {ord(text[error.position])}) stands here"
        raise wrong(found, "delete it", place=Place(file, line)) from None
    except YAMLError as error:
        found = f"not readable as YAML ({error})"
        raise wrong(found, "check this file", place=Place(file)) from None
    except RecursionError:
        raise wrong("nested too deeply", "check the brackets", place=Place(file)) from None


def _kind(node: Node) -> str:
    if isinstance(node, MappingNode):
        return "a mapping"
    return "a list" if isinstance(node, SequenceNode) else "a single text"


class _Builder:
    """Builds plain values from nodes and notes where each stands."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.keys: dict[KeyPath, Place] = {}
        self.values: dict[KeyPath, Place] = {}
        self.complaints: list[Complaint] = []
        self.count = 0

    def place(self, node: Node) -> Place:
        mark = node.start_mark
        return Place(self.file, mark.line + 1, mark.column + 1)

    def build(self, node: Node, path: KeyPath, depth: int) -> Any:
        self.count += 1
        if depth > _DEEPEST or self.count > _MOST_VALUES:
            found = "an alias (*name) holds itself, or aliases and brackets go too deep"
            raise wrong(found, "write the values out", place=self.place(node))
        self.values.setdefault(path, self.place(node))
        if isinstance(node, ScalarNode):
            return self._scalar(node)
        if isinstance(node, MappingNode):
            self._refuse_tag(node, "map")
            return self._mapping(node, path, depth)
        self._refuse_tag(node, "seq")
        return [self.build(item, (*path, i), depth + 1) for i, item in enumerate(node.value)]

    def _mapping(self, node: MappingNode, path: KeyPath, depth: int) -> dict[str, Any]:
        built: dict[str, Any] = {}
        last: tuple[str, Node] | None = None
        for key_node, value_node in node.value:
            if last and _split_by_comma(last[1], key_node, value_node):
                built[last[0]] = f"{last[1].value},{key_node.value}"
                continue
            if not isinstance(key_node, ScalarNode):
                found = f"{_kind(key_node)} stands where a key is due"
                self._complain(key_node, found, "write the key as a plain word")
                continue
            key = str(key_node.value)
            if key in built:
                first = self.keys[*path, key].line
                found = f"{key!r} is written twice, first in line {first}"
                self._complain(key_node, found, "keep one of the two")
                continue
            self.keys[*path, key] = self.place(key_node)
            built[key] = self.build(value_node, (*path, key), depth + 1)
            last = key, value_node
        return built

    def _scalar(self, node: ScalarNode) -> str | int | float | bool | None:
        text, kind = str(node.value), str(node.tag).removeprefix(_CORE)
        if kind == "null":
            return None
        if kind == "bool":
            return text.lower() in {"true", "yes", "on"}
        if kind in {"int", "float"}:
            return _number(text)
        self._refuse_tag(node, *_TEXTS)
        return text

    def _refuse_tag(self, node: Node, *known: str) -> None:
        tag = str(node.tag)
        if tag.removeprefix(_CORE) not in known:
            shown = "!!" + tag.removeprefix(_CORE) if tag.startswith(_CORE) else tag
            self._complain(node, f"the tag {shown} stands here", "tags are not taken; delete it")

    def _complain(self, node: Node, found: str, remedy: str) -> None:
        self.complaints.append(Complaint(found, remedy, self.place(node)))


def _split_by_comma(before: Node, key: Node, value: Node) -> bool:
    """Test whether `{by: 0,05 mm}` was read as `{by: 0, 05 mm: null}`, two values for one."""
    return (
        isinstance(before, ScalarNode)
        and isinstance(key, ScalarNode)
        and isinstance(value, ScalarNode)
        and str(before.tag) == _CORE + "int"
        and str(key.value)[:1].isdigit()
        and str(value.tag) == _CORE + "null"
        and key.start_mark.index == before.end_mark.index + 1
    )


def _number(text: str) -> str | int | float:
    """A YAML number; a text that Python cannot read as one stays text, to be refused by name."""
    plain = text.replace("_", "").lower()
    try:
        if plain.lstrip("+-")[:2] in {"0x", "0o", "0b"}:
            return _of_size(int(plain, 0), text)
        if plain.lstrip("+-").isdecimal():
            return _of_size(int(plain), text)
        return float(plain.replace(".inf", "inf"))
    except ValueError:
        return float("nan") if plain == ".nan" else text


def _of_size(number: int, text: str) -> int | str:
    """The number, unless no decimal fraction can hold it."""
    return number if number.bit_length() < _MOST_BITS else text
