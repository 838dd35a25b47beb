"""Scouting around rough places: smooth shapes slide along themselves, so the best start is sought.

A few points of the outlines are looked at, at many shifts; where most of them see their edges, and
all with one sign, the fine search begins.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.photo.registering.profiles import shifted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.photo.finding.camera_map import CameraMap
    from preprocess.photo.registering.profiles import OutlineProfiles
    from preprocess.photo.registering.rough_place import RoughPlace

_SHIFTS = np.arange(-3.0, 3.1, 0.75)
_REACH = 0.4
_POINTS = 300
_UPRIGHT = 45.0
_CLEAR = 0.5
"""Correlation from which a point speaks for a place."""


def best_starts(
    grey: Any,
    camera: CameraMap,
    profiles: OutlineProfiles,
    rough: Sequence[RoughPlace],
    count: int,
) -> list[tuple[Floats, float]]:
    """The best starts, as maps from the drawing to the page (3 × 3), each with its turn.

    The best upright one is among them: a part may look the same upside down.
    """
    few = profiles.some(_POINTS)
    found = []
    for one in rough:
        place = one.map @ shifted(few.centre)
        for x in _SHIFTS:
            for y in _SHIFTS:
                start = shifted(np.array([x, y])) @ place
                match = few.agreement(grey, camera, start, _REACH)
                score = max(_score(match), _score(-match))
                found.append((score, start, one.turn))
    order = sorted(range(len(found)), key=lambda n: -found[n][0])
    upright = [n for n in order if is_upright(found[n][2])][:1]
    kept = dict.fromkeys([*order[:count], *upright])
    return [(found[n][1] @ shifted(-few.centre), found[n][2]) for n in kept]


def is_upright(turn: float) -> bool:
    """Test whether a turn (degrees) is one of a part that lies about upright."""
    return abs((turn + 180) % 360 - 180) < _UPRIGHT


def _score(match: Floats) -> float:
    return float(np.maximum(match.max(axis=1) - _CLEAR, 0.0).sum())
