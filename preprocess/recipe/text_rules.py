"""Text rules of a recipe: complaints about them, and the texts of one row of values."""

from __future__ import annotations

import math
import unicodedata
from typing import TYPE_CHECKING, Any

from preprocess.engine.running import seats_of_tray
from preprocess.errors import Complaint, Place, UserError
from preprocess.loading.schema.plain_data import plain_data
from preprocess.model.options.lettering import Lettering, Seat, TextRule

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
    """Complaints about texts that differ from seat to seat where there are two trays."""
    trays = [step for step in steps if seats_of_tray(step.params) > 1]
    if _varies(recipe) and len(trays) > 1:
        found = "two steps make copies, and text: differs from label to label"
        remedy = "make all copies in one step, so that each seat has a number"
        yield Complaint(found, remedy, trays[1].place)


def seats_on_tray(steps: Sequence[Step]) -> int:
    """Number of seats on the tray of a recipe; 1 without a tray."""
    return math.prod(seats_of_tray(step.params) for step in steps)


def seats_of_serial(recipe: Recipe, steps: Sequence[Step]) -> tuple[Seat, ...]:
    """The seats of a tray that serial numbers fill; none where all labels are alike.

    Where texts come from columns, the values fill them.
    """
    count = seats_on_tray(steps)
    if count == 1 or not _varies(recipe) or any(rule.column for rule in recipe.text):
        return ()
    texts = (texts_of_row(recipe.text, row) for row in range(count))
    return tuple(Seat(number=number, texts=said) for number, said in enumerate(texts, 1))


def _varies(recipe: Recipe) -> bool:
    return any(rule.serial is not None or rule.column is not None for rule in recipe.text)


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
