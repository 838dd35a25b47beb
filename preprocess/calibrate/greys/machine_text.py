"""The machine file with another curve of greys; all else stays as a person wrote it."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.errors import UserError
from preprocess.loading.schema.plain_data import plain_data
from preprocess.loading.schema.value_reading import read_declared
from preprocess.loading.yaml.text_files import read_text
from preprocess.loading.yaml.yaml_document import load_yaml
from preprocess.loading.yaml.yaml_text import one_line, yaml_text
from preprocess.model.bench.machine import Machine

if TYPE_CHECKING:
    from pathlib import Path

    from preprocess.model.bench.machine import Grey

_HELD = re.compile(r"^grey:[^\n]*\n?(?:[ \t]+[^\n]*\n?|[ \t]*\n)*", re.MULTILINE)


def read_machine(path: Path) -> tuple[str, Machine | None]:
    """The text of a machine file and the machine; nothing where there is no file yet.

    Raises:
        UserError: it is no machine file.
    """
    if not path.exists():
        return "", None
    machine, complaints = read_declared(Machine, load_yaml(path))
    if complaints or machine is None:
        raise UserError(complaints)
    return read_text(path), machine


def with_grey(text: str, grey: Grey) -> str:
    """The text of a machine file with the key `grey` exchanged, or added at its end."""
    said = _lines(grey)
    if _HELD.search(text):
        return _HELD.sub(lambda _: said, text, count=1)
    return f"{text.rstrip()}\n{said}" if text.strip() else f"machine: 1\n{said}"


def _lines(grey: Grey) -> str:
    plain = plain_data(replace(grey, intervals=None))
    sure = None if grey.intervals is None else plain_data(grey.intervals)
    return yaml_text({"grey": {**plain, **({"intervals": one_line(sure)} if sure else {})}})
