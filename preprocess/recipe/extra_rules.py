"""Extra settings of a recipe against those that its machine declares."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from preprocess.errors import Complaint
from preprocess.loading.schema.plain_data import nested_declared
from preprocess.loading.schema.value_complaints import nearest_word
from preprocess.loading.schema.value_types import declared_keys
from preprocess.model.artwork.settings import Settings
from preprocess.model.bench.extra_settings import ExtraType
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.errors import Place
    from preprocess.loading.yaml.yaml_document import KeyPath, YamlDocument
    from preprocess.model.bench.extra_settings import ExtraSetting
    from preprocess.model.bench.machine import Machine
    from preprocess.model.declared import Declared

_NAME = re.compile(r"[a-z][a-z0-9_]*")
_NUMBER = re.compile(r"([+-]?[\d.]+)(?: (.+))?\Z")


def declaration_complaints(
    machine: Machine, document: YamlDocument, path: KeyPath
) -> Iterator[Complaint]:
    """Complaints about the extra settings that a machine file declares."""
    own = {key.name for key in declared_keys(Settings)}
    for name, extra in (machine.extra_settings or {}).items():
        place = document.at_key((*path, "extra_settings", name))
        if name in own or not _NAME.fullmatch(name):
            found = f"an extra setting is called {name!r}"
            remedy = "take small letters, digits and _, and none of " + ", ".join(sorted(own))
            yield Complaint(found, remedy, place)
        numbers = extra.unit is not None or extra.from_ is not None or extra.to is not None
        if extra.type is not ExtraType.NUMBER and numbers:
            remedy = "delete unit, from and to, or write type: number"
            yield Complaint(f"{name} is a {extra.type} with a unit or limits", remedy, place)
        if extra.type is not ExtraType.WORD and extra.words:
            yield Complaint(f"{name} is a {extra.type} with words", "write type: word", place)


def extra_complaints(
    root: Declared, path: KeyPath, machine: Machine | None, document: YamlDocument
) -> Iterator[Complaint]:
    """Complaints about settings that the machine does not have, or has otherwise."""
    known = (machine.extra_settings if machine is not None else None) or {}
    for inner, value in nested_declared(root, path):
        for name, text in value.extra if isinstance(value, Settings) else ():
            place = document.at_key((*inner, name))
            if name in known:
                yield from _wrong_value(name, text, known[name], document.at((*inner, name)))
                continue
            names = [*(key.name for key in declared_keys(Settings)), *known]
            remedy = nearest_word(name, names, "known keys:")
            if not remedy.startswith("did you mean"):
                remedy += "; others are declared in the machine file, under extra_settings:"
            yield Complaint(f"unknown key {name!r}", remedy, place)


def _wrong_value(name: str, text: str, extra: ExtraSetting, place: Place) -> Iterator[Complaint]:
    wrong = _complaint(text, extra)
    if wrong:
        yield Complaint(f"{name} is {text!r}", wrong, place)


def _complaint(text: str, extra: ExtraSetting) -> str:
    """Remedy for a wrong value; empty where the value is right."""
    if extra.type is ExtraType.SWITCH:
        return "" if text in {"on", "off"} else "write on or off"
    if extra.type is ExtraType.WORD:
        if not extra.words or text in extra.words:
            return ""
        return nearest_word(text, extra.words, "write one of")
    match, unit = _NUMBER.match(text), f" {extra.unit}" if extra.unit else ""
    if match is None or (match[2] or None) != extra.unit:
        return f"write a number{f' in {extra.unit}' if extra.unit else ''}, such as 30{unit}"
    number = float(match[1])
    low, high = extra.from_, extra.to
    if (low is not None and number < low) or (high is not None and number > high):
        least = f"at least {digits(low)}{unit}" if low is not None else ""
        most = f"at most {digits(high)}{unit}" if high is not None else ""
        return f"it must be {' and '.join(filter(None, (least, most)))}"
    return ""
