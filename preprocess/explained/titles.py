"""Titles of findings: what a whole kind of them is called in one line."""

from __future__ import annotations

from preprocess.explained.explanations import explanations


def title_of(code: str) -> str:
    """The title of a code; empty for codes of other packages."""
    known = explanations().get(code)
    return known.title if known else ""
