"""Complaints about the values of one document: the key, what stands there, the remedy."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING

from preprocess.errors import Complaint
from preprocess.loading.yaml.syntax_errors import hidden_by_hash

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preprocess.loading.yaml.yaml_document import KeyPath, YamlDocument

_LONGEST = 40


class ValueComplaints:
    """Gathers all that is wrong with the values of a document."""

    def __init__(self, document: YamlDocument) -> None:
        self.document = document
        self.found: list[Complaint] = []

    def wrong_value(self, path: KeyPath, found: str, remedy: str) -> None:
        """Add a complaint about a value; `found` goes on after the name of its key."""
        place = self.document.at(path)
        self.found.append(Complaint(f"{self._label(path)}{found}", remedy, place))

    def unknown_key(self, path: KeyPath, known: Iterable[str]) -> None:
        """Add a complaint about a key, with the nearest key that is known, or all of them."""
        remedy = nearest_word(path[-1], known, "known keys:")
        place = self.document.at_key(path)
        self.found.append(Complaint(f"unknown key {path[-1]!r}", remedy, place))

    def retired_key(self, path: KeyPath) -> None:
        """Add a complaint about a key of older files."""
        found = f"the key {path[-1]!r} was taken away, because it did nothing"
        self.found.append(Complaint(found, "delete the line", self.document.at_key(path)))

    def missing_key(self, path: KeyPath, name: str, example: str) -> None:
        """Add a complaint about a mapping without a key that it must have."""
        found = f"{self._label(path)} lacks the key {name!r}"
        remedy = f"add it, for example {name}: {example}"
        self.found.append(Complaint(found, remedy, self.document.at_key(path)))

    def no_value(self, path: KeyPath) -> None:
        """Add a complaint about a key or entry without a value."""
        place = self.document.at_key(path)
        found, remedy = f"{self._label(path)} has no value", "give it one or delete it"
        if hidden := hidden_by_hash(self.document.line_at(place)):
            found += f", since the unquoted {hidden} starts a comment"
            remedy = f"quote it: '{hidden}'"
        self.found.append(Complaint(found, remedy, place))

    def _label(self, path: KeyPath) -> str:
        """The name of a value for a sentence: its key, and its number in a list."""
        if not path:
            return self.document.subject
        if isinstance(path[-1], int):
            return f"{self._label(path[:-1])}, entry {path[-1] + 1}"
        return path[-1]


def nearest_word(word: object, known: Iterable[str], all_of_them: str) -> str:
    """The remedy for an unknown word: the nearest known one, else the list of all."""
    words = list(known)
    near = get_close_matches(str(word), words, n=1)
    return f"did you mean {near[0]}?" if near else f"{all_of_them} {', '.join(words)}"


def shown_value(value: object) -> str:
    """A value as the file holds it, for a message."""
    if isinstance(value, dict):
        return "a mapping"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, str):
        return repr(value if len(value) <= _LONGEST else value[: _LONGEST - 1] + "…")
    return str(value).lower() if isinstance(value, bool) else str(value)
