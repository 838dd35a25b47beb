"""The file of what a photo told: JSON, written with fixed digits, and read back with its checks."""

from __future__ import annotations

import json
from dataclasses import fields
from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.errors import Place, UserError, wrong
from preprocess.loading.yaml.text_files import read_text
from preprocess.photo.measured import (
    LeftOut,
    Measured,
    MeasuredCoupon,
    MeasuredJob,
    MeasuredPlace,
    Photo,
)

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from preprocess.arrays import Floats

MEASURED_SUFFIX = ".measured.json"

_VERSION = 1
_MOST_BYTES = 30_000_000

_DIGITS = {"ln_ratio": 4, "px_per_mm": 2}
"""Decimals of a figure; three where none are given."""


def measured_bytes(value: Measured) -> bytes:
    """The file of a measured coupon or job, UTF-8 JSON."""
    kind = "coupon" if isinstance(value, MeasuredCoupon) else "job"
    said = {"measured": _VERSION, "kind": kind, **_plain(value)}
    lines = (f" {json.dumps(key)}: {json.dumps(held)}" for key, held in said.items())
    return ("{\n" + ",\n".join(lines) + "\n}\n").encode()


def read_measured(path: Path) -> Measured:
    """Read the file of a measured coupon or job.

    Raises:
        UserError: it is not readable, or no such file.
    """
    text, place = read_text(path, most=_MOST_BYTES), Place(str(path))
    try:
        held = json.loads(text)
        version, kind = held.pop("measured"), held.pop("kind")
        made = _KINDS[kind](held)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise wrong(
            "this is not what evenmark measure writes", "measure the photo again", place=place
        ) from None
    if version != _VERSION:
        found = f"this is version {version} of a measured photo, but only {_VERSION} is known"
        raise wrong(found, "measure the photo again", place=place)
    return made


def coupons_beside(table: Path) -> dict[str, MeasuredCoupon]:
    """Measured coupons in the folder of a grade table, by id; the table's own must be readable.

    Raises:
        UserError: the file of the table's own name is damaged.
    """
    own = table.with_name(table.name.removesuffix(".grades.csv") + MEASURED_SUFFIX)
    found: dict[str, MeasuredCoupon] = {}
    for path in sorted(table.parent.glob(f"*{MEASURED_SUFFIX}"), key=lambda path: path != own):
        try:
            read = read_measured(path)
        except UserError:
            if path == own:
                raise
            continue
        if isinstance(read, MeasuredCoupon):
            found.setdefault(read.coupon, read)
    return found


def _plain(value: Any) -> dict[str, Any]:
    return {
        field.name: _plain_field(field.name, getattr(value, field.name)) for field in fields(value)
    }


def _plain_field(name: str, value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return [[None if np.isnan(one) else _rounded(name, one) for one in row] for row in value]
    if isinstance(value, tuple):
        return [_plain_field(name, one) for one in value]
    if isinstance(value, (float, np.floating)):
        return _rounded(name, value)
    if isinstance(value, (Photo, MeasuredPlace, LeftOut)):
        return _plain(value)
    return value


def _rounded(name: str, value: Any) -> float:
    return round(float(value), _DIGITS.get(name, 3)) + 0.0


def _coupon(held: dict[str, Any]) -> MeasuredCoupon:
    return MeasuredCoupon(
        coupon=str(held.pop("coupon")),
        ground=_number(held.pop("ground")),
        photos=tuple(_record(Photo, one) for one in held.pop("photos")),
        places=tuple(_record(MeasuredPlace, one) for one in held.pop("places")),
        left_out=tuple(_record(LeftOut, one) for one in held.pop("left_out")),
    )


def _job(held: dict[str, Any]) -> MeasuredJob:
    maps = {name: _map(held.pop(name)) for name in ("tone", "index", "wider")}
    if len({one.shape for one in maps.values()}) > 1:
        raise ValueError(held)
    x, y = map(_number, held.pop("origin"))
    step = _number(held.pop("step"))
    if step <= 0:
        raise ValueError(step)
    return MeasuredJob(
        name=str(held.pop("name")),
        drawing=str(held.pop("drawing")),
        origin=(x, y),
        step=step,
        ground=_number(held.pop("ground")),
        photos=tuple(_record(Photo, one) for one in held.pop("photos")),
        noise=_number(held.pop("noise")),
        **maps,
    )


def _record(kind: Any, held: dict[str, Any]) -> Any:
    """A record of which every field has the type that it is declared with."""
    known = {field.name: str(field.type) for field in fields(kind)}
    for name, value in held.items():
        _check(known[name], value)
    return kind(**held)


def _check(declared: str, value: Any) -> None:
    if value is None and "None" in declared:
        return
    if declared.startswith("float"):
        _number(value)
    elif not isinstance(value, {"str": str, "int": int}[declared]):
        raise TypeError(value)


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not np.isfinite(value):
        raise TypeError(value)
    return float(value)


def _map(rows: Any) -> Floats:
    found = np.array(
        [[np.nan if one is None else _number(one) for one in row] for row in rows],
        dtype=np.float64,
    )
    return found.reshape(len(rows), -1) if found.ndim == 2 else _not_a_map(rows)  # noqa: PLR2004


def _not_a_map(rows: Any) -> Floats:
    raise ValueError(rows)


_KINDS: dict[str, Callable[[dict[str, Any]], Measured]] = {"coupon": _coupon, "job": _job}
