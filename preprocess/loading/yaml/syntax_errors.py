"""Syntax errors of YAML, in words for a person who does not know YAML."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from preprocess.errors import Complaint, Place

if TYPE_CHECKING:
    from ruamel.yaml.error import MarkedYAMLError, StringMark

_HASH = re.compile(r"(?:^|[:,\[{-])\s+(#[\w-]+)|[\[{,](#[\w-]+)")
_TAB = re.compile(r" *\t\s*[^\s#]")

_MEANINGS = (
    ("found unexpected end of stream", "a quotation mark opens here and never closes", "close it"),
    (
        "mapping values are not allowed",
        "a second ': ' stands in this line, or its indentation does not fit",
        "put a value that holds ': ' in quotes, or start the key on its own line",
    ),
    ("found undefined alias", "a text that starts with * refers to nothing", "put it in quotes"),
    ("another document", "a second document starts here (---)", "keep one to a file"),
    ("cannot start any token", "a text cannot start with this character", "put it in quotes"),
    ("could not find expected ':'", "a key stands here without its colon", "write 'key: value'"),
    (
        "expected <block end>",
        "this line does not belong to what stands above it",
        "give lines that belong together the same indentation",
    ),
    (
        "<document start>",
        "this line is indented unlike the first one",
        "give lines that belong together the same indentation",
    ),
)


def tab_complaints(text: str, file: str) -> tuple[Complaint, ...]:
    """One complaint at the first line whose indentation holds a tab."""
    lines = [n for n, line in enumerate(text.splitlines(), 1) if _TAB.match(line)]
    if not lines:
        return ()
    others = len(lines) - 1
    more = f" and {others} more line{'s' * (others > 1)}" if others else ""
    found = f"a tab indents this line{more}"
    return (Complaint(found, "use spaces, two for each step", Place(file, lines[0], 1)),)


def hidden_by_hash(line: str) -> str | None:
    """The text that an unquoted # has turned into a comment, if it looks like a value."""
    match = _HASH.search(line)
    return (match[1] or match[2]) if match else None


def explain_syntax_error(error: MarkedYAMLError, text: str, file: str) -> Complaint:
    """A complaint for what the YAML parser met."""
    problem = str(error.problem)
    lines = text.splitlines()
    if error.context and "flow" in str(error.context):
        return _bracket(error, lines, file)
    for part, found, remedy in _MEANINGS:
        if part in problem:
            earlier = "quoted" in str(error.context) or "simple key" in str(error.context)
            return Complaint(found, remedy, _place(file, error, from_context=earlier))
    return Complaint(f"not readable as YAML ({problem})", "check this line", _place(file, error))


def _bracket(error: MarkedYAMLError, lines: list[str], file: str) -> Complaint:
    last = error.problem_mark.line if error.problem_mark else len(lines)
    for number in range(min(last, len(lines) - 1), -1, -1):
        hidden = hidden_by_hash(lines[number])
        if hidden:
            column = lines[number].index(hidden) + 1
            return Complaint(
                f"the unquoted {hidden} starts a comment, so the bracket before it never closes",
                f"quote it: '{hidden}'",
                Place(file, number + 1, column),
            )
    return Complaint(
        "a bracket is not closed, or a comma is missing between two entries",
        "check the brackets and commas up to here",
        _place(file, error, from_context=last >= len(lines)),
    )


def _place(file: str, error: MarkedYAMLError, *, from_context: bool = False) -> Place:
    mark: StringMark | None = error.problem_mark
    if from_context and error.context_mark is not None:
        mark = error.context_mark
    return Place(file, mark.line + 1, mark.column + 1) if mark else Place(file)
