"""Definitions of coupons as files: written, read, and named by a hash of their content."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from preprocess.coupon.design.model import CouponDefinition
from preprocess.errors import Place, UserError, wrong
from preprocess.loading.schema.plain_data import free_values, plain_value
from preprocess.loading.schema.value_reading import read_declared
from preprocess.loading.schema.value_types import ListType, RecordType, declared_keys
from preprocess.loading.yaml.yaml_document import load_yaml, parse_yaml
from preprocess.loading.yaml.yaml_text import yaml_text

if TYPE_CHECKING:
    from pathlib import Path

    from preprocess.loading.yaml.yaml_document import YamlDocument
    from preprocess.model.declared import Declared

_FORMAT = 1
"""Version of the file and of the shapes."""

_HEAD = """\
# What this coupon is. It belongs to the grade table and to the SVG beside it: the grades cannot be
# read without it. Change nothing here; make another coupon instead.
"""


def canonical_definition(definition: CouponDefinition) -> CouponDefinition:
    """The definition as it is read back: rounded as written, without the filament's trials."""
    known = definition.filament
    if known is not None and known.trials:
        definition = replace(definition, filament=replace(known, trials=()))
    return _checked(parse_yaml(_text(definition), "<definition>"))


def definition_bytes(definition: CouponDefinition) -> bytes:
    """The definition's file, UTF-8 YAML."""
    return f"{_HEAD}{_text(definition)}".encode()


def read_definition(path: Path) -> CouponDefinition:
    """Read a definition's file.

    Raises:
        UserError: not readable, not a definition, or of another version.
    """
    document = load_yaml(path)
    definition = _checked(document)
    if definition.coupon != _FORMAT:
        found = f"this is version {definition.coupon} of a coupon, but only {_FORMAT} is known"
        raise wrong(found, "make the coupon again", place=document.at(("coupon",)))
    return definition


def coupon_id(definition: CouponDefinition) -> str:
    """The kind and 8 hexadecimal digits of a hash of the definition."""
    said = json.dumps(non_default_fields(definition), sort_keys=True, ensure_ascii=True)
    return f"{definition.kind}-{hashlib.sha256(said.encode()).hexdigest()[:8]}"


def _text(definition: CouponDefinition) -> str:
    return yaml_text({"coupon": definition.coupon, **non_default_fields(definition)})


def non_default_fields(value: Declared) -> dict[str, Any]:
    """Fields that differ from their defaults, so that a later key changes no old id."""
    fields: dict[str, Any] = {}
    for key in declared_keys(type(value)):
        held = getattr(value, key.field)
        if held is None or (not key.required and held == key.default):
            continue
        if isinstance(key.type, RecordType):
            fields[key.name] = non_default_fields(held)
        elif isinstance(key.type, ListType) and isinstance(key.type.entry, RecordType):
            fields[key.name] = [non_default_fields(item) for item in held]
        else:
            fields[key.name] = plain_value(key.type, held)
    return fields | free_values(value)


def _checked(document: YamlDocument) -> CouponDefinition:
    definition, complaints = read_declared(CouponDefinition, document)
    if definition is None:
        raise UserError(complaints or wrong("", place=Place(document.file)).complaints)
    return definition
