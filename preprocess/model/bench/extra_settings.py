"""Extra settings of a machine, beyond power, speed and rows: their names, types and units."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from preprocess.model.declared import Declared, Doc


class ExtraType(StrEnum):
    """Kind of value that an extra setting takes."""

    NUMBER = "number"
    WORD = "word"
    SWITCH = "switch"


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtraSetting(Declared):
    """One setting that a person makes at this machine; evenmark carries it and computes nothing."""

    type: Annotated[ExtraType, Doc("a number with its unit, a word, or a switch (on or off)")] = (
        ExtraType.NUMBER
    )
    unit: Annotated[str | None, Doc("unit of the number as you write it: kHz, ns, mm")] = None
    from_: Annotated[float | None, Doc("least number")] = None
    to: Annotated[float | None, Doc("largest number")] = None
    words: Annotated[tuple[str, ...], Doc("words to choose from; any if none is named")] = ()
