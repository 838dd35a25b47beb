"""The command, run inside the process of a test."""

from __future__ import annotations

import sys
from typing import NamedTuple

import pytest

from preprocess.cli import app


class Said(NamedTuple):
    """Exit code, standard output and standard error."""

    code: int
    out: str
    err: str


def evenmark(monkeypatch, capture, *arguments: str) -> Said:
    """What the command leaves with and says; `capture` is the capsys or capfd of pytest."""
    monkeypatch.setattr(sys, "argv", ["evenmark", *arguments])
    with pytest.raises(SystemExit) as left:
        app.main()
    captured = capture.readouterr()
    return Said(int(left.value.code or 0), captured.out, captured.err)
