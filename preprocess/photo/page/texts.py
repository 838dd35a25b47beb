"""Words of the pages of what was measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.photo.measured import Photo

HOW_SURE = (
    "Within one photo a difference of 1.5 ΔL* is real; between two photos, of 3. These figures "
    "come from photos made by calculation; no real one was checked yet."
)

TONE_CAUTIONS = (
    "A tone tells how a mark looks. It never says that a setting is safe.",
    (
        "Marking plastics can hurt people: extract and filter the fumes, never mark chlorinated "
        "or unknown plastics, stay with the machine."
    ),
    "Try a changed setting on scrap first. The machine's manual and local codes decide.",
)


def photo_facts(photos: Sequence[Photo]) -> list[tuple[str, str]]:
    """How well each photo served, for a list of facts."""
    return [
        (
            photo.name,
            (
                f"{photo.px_per_mm:.0f} pixels to a millimetre, edges {photo.edge:.2f} mm wide, "
                f"{photo.markers} markers, {100 * photo.match:.0f} % of the outline found"
            ),
        )
        for photo in photos
    ]
