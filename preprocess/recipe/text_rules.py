"""Text rules of a recipe: complaints about them, and the texts of one row of values."""

from __future__ import annotations

import math
import unicodedata
from typing import TYPE_CHECKING, Any

from preprocess.errors import Complaint, Place, UserError
from preprocess.loading.schema.plain_data import plain_data
from preprocess.model.options.lettering import Lettering, TextRule

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from preprocess.engine.step import Step
    from preprocess.loading.yaml.yaml_document import YamlDocument
    from preprocess.recipe.recipe_keys import Recipe

_NEVER_TEXT = frozenset({"Cc", "Cs", "Cn", "Zl", "Zp"})
_TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def text_complaints(recipe: Recipe, document: YamlDocument) -> Iterator[Complaint]:
    """Complaints about `text:` and `names_from:`."""
    for number, rule in enumerate(recipe.text):
        place = document.at(("text", number))
        given = [key for key in ("value", "column", "serial") if getattr(rule, key) is not None]
        if len(given) != 1:
            found = f"{' and '.join(given)} stand side by side" if given else "no text is given"
            remedy = "write one of value:, column: and serial: for each text"
            yield Complaint(f"text: {found}", remedy, place)
        spoken = {"value": rule.value, "serial": rule.serial.before if rule.serial else None}
        for key, text in spoken.items():
            if text is not None and (odd := unprintable_character(text)):
                where = document.at(("text", number, key))
                yield Complaint(f"text: {key} holds {odd}", "delete it", where)
    if recipe.names_from is not None and not recipe.text:
        remedy = "write text:, or delete names_from"
        place = document.at(("names_from",))
        yield Complaint("names_from names a column, but no text is filled in", remedy, place)


def tray_complaints(recipe: Recipe, steps: Sequence[Step]) -> Iterator[Complaint]:
    """Complaints about texts that differ from label to label, on trays whose copies are alike."""
    varies = [key for rule in recipe.text for key in ("serial", "column") if getattr(rule, key)]
    if not varies:
        return
    for step in steps:
        seats = math.prod(getattr(step.params, "copies", None) or (1,))
        if seats > 1:
            found = (
                f"all {seats} copies of the tray would get the same text, but text: has a "
                f"{varies[0]}, which is to differ from label to label"
            )
            remedy = (
                "take copies out and make each label by itself with evenmark series, or write "
                "value: where all are to say the same"
            )
            yield Complaint(found, remedy, step.place)


def unprintable_character(text: str) -> str:
    """The first character that no label can show, in words; else empty."""
    for one in text:
        if unicodedata.category(one) in _NEVER_TEXT or one in _TURNING:
            return f"a character that cannot be shown (U+{ord(one):04X})"
    return ""


def texts_of_row(
    rules: Sequence[TextRule], row: int = 0, values: Mapping[str, str] | None = None
) -> tuple[Lettering, ...]:
    """Texts in a row (from 0); rules whose column has no value are left out."""
    held = {rule.column: (values or {}).get(rule.column or "") for rule in rules}
    said = ((rule, held[rule.column] if rule.column else rule.at(row)) for rule in rules)
    return tuple(
        Lettering(element=rule.element, text=text, fit=rule.fit, optional=rule.optional)
        for rule, text in said
        if text is not None
    )


def expect_no_columns(recipe: Recipe, name: str) -> None:
    """Refuse a recipe whose texts need a table of values.

    Raises:
        UserError: one of them names a column.
    """
    columns = [rule.column for rule in recipe.text if rule.column is not None]
    if columns:
        found = f"text: the column {columns[0]!r} has no values here"
        remedy = "use evenmark series with --values FILE.csv, or write value: instead"
        raise UserError(Complaint(found, remedy, Place(name)))


def recipe_for_label(said: dict[str, Any], texts: Sequence[Lettering]) -> dict[str, Any]:
    """A recipe as plain data that makes this one label: its texts have values of their own."""
    kept = {key: held for key, held in said.items() if key != "names_from"}
    return {**kept, "text": [_as_rule(one) for one in texts]}


def _as_rule(one: Lettering) -> dict[str, Any]:
    rule = TextRule(element=one.element, value=one.text, fit=one.fit, optional=one.optional)
    return plain_data(rule)
