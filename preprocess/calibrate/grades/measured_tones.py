"""Measured tones of a trial: what photos told of a coupon, kept beside its grades."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from annotated_types import Ge, Gt

from preprocess.model.declared import Declared, Doc
from preprocess.units import Length

if TYPE_CHECKING:
    from preprocess.photo.measured import MeasuredCoupon


@dataclass(frozen=True, slots=True, kw_only=True)
class TonedPlace(Declared):
    """The tone of a cell, or of one place along a blade."""

    cell: Annotated[str, Doc("name of the cell")]
    at: Annotated[Length | None, Ge(0), Doc("distance from a blade's wide end")] = None
    tone: Annotated[float, Doc("ΔL* against the plastic beside it")]
    sd: Annotated[float, Gt(0), Doc("its standard deviation, ΔL*")]
    ln_ratio: Annotated[float, Doc("logarithm of its luminance over that of the plastic")]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialPhoto(Declared):
    """One photo that the tones are from."""

    name: Annotated[str, Doc("name of the file")]
    sha256: Annotated[str, Doc("SHA-256 of the file")]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredTones(Declared):
    """All tones of one coupon; `ground` is L* of the bare plastic."""

    ground: Annotated[float, Doc("L* of the bare plastic")]
    photos: Annotated[tuple[TrialPhoto, ...], Doc("the photos")]
    places: Annotated[tuple[TonedPlace, ...], Doc("cells and places along blades")]


_LEAST_SD = 0.05
"""ΔL*; no photo is surer."""


def tones_of(measured: MeasuredCoupon | None) -> MeasuredTones | None:
    """What the profile keeps of a measured coupon; None where none was measured."""
    if measured is None or not measured.places:
        return None
    return MeasuredTones(
        ground=measured.ground,
        photos=tuple(TrialPhoto(name=one.name, sha256=one.digest) for one in measured.photos),
        places=tuple(
            TonedPlace(
                cell=one.cell,
                at=one.at,
                tone=one.tone,
                sd=max(one.sd, _LEAST_SD),
                ln_ratio=one.ln_ratio,
            )
            for one in measured.places
        ),
    )
