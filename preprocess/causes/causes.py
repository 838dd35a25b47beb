"""Causes of a job's unevenness, from its measured map: each by what the fit loses without it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.causes.evidence import CauseColumns, weigh
from preprocess.causes.found import HEAT, LINES, PATCH, TILT, Causes, FoundCause
from preprocess.causes.marked_places import block_means, marked, places_of, smooth_within
from preprocess.causes.sentences import CauseWords, sentences_of
from preprocess.causes.shapes import (
    bell_shapes,
    bell_tones,
    heat_shapes,
    level_shape,
    plane_shapes,
)
from preprocess.causes.stripes import strongest_stripes
from preprocess.errors import Refusal

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.arrays import Floats
    from preprocess.causes.marked_places import MarkedPlaces
    from preprocess.causes.stripes import Stripes
    from preprocess.photo.measured import MeasuredJob

LEAST = 0.7
"""ΔL* that a cause must explain to be named: less is told from slow changes of light by chance."""

_FEWEST = 200
"""Values of a map below which nothing can be told."""

_SHORT = 1.2
"""mm: what is longer than this is no line of the print."""

_FLAT = 2
"""Columns of a plane before those that bend it."""


def causes_of(job: MeasuredJob) -> Causes:
    """Take a measured map apart into heat, tilt, lines and patch.

    Raises:
        Refusal: hardly anything was measured.
    """
    places = places_of(job)
    if len(places) < _FEWEST:
        raise Refusal(
            f"the map holds {len(places)} measured values, too few to tell a cause",
            "photograph the part from nearer, without glare",
        )
    stripes, waves = _stripes(job, places)
    blocks = block_means(places.less(waves), job.step)
    bells, bell_columns = bell_shapes(blocks)
    plane = plane_shapes(blocks)
    weighed = weigh(
        blocks,
        CauseColumns(
            level_shape(blocks),
            heat_shapes(blocks),
            plane[:, :_FLAT],
            plane[:, _FLAT:],
            bell_columns,
        ),
    )
    some = weighed.likeliest
    bend, number = weighed.chosen[some]
    columns: dict[str, Floats] = {}
    if HEAT in some:
        columns[HEAT] = heat_shapes(places)
    if TILT in some:
        columns[TILT] = plane_shapes(places)[:, [0, 1, _FLAT + bend]]
    if PATCH in some:
        columns[PATCH] = bell_tones(places, bells[[number]])
    if stripes is not None:
        columns[LINES] = stripes.waves(places)
    sure = {**weighed.sure, LINES: 1.0}
    bell = bells[number] if PATCH in some else None
    return _taken_apart(job, places, columns, sure, (bell, stripes))


def _stripes(job: MeasuredJob, places: MarkedPlaces) -> tuple[Stripes | None, Floats]:
    """The lines of the print, and their tone at each place."""
    where = marked(job)
    long = [level_shape(places), heat_shapes(places), plane_shapes(places)]
    rest = np.full(where.shape, np.nan)
    rest[where] = places.tone - _fitted(long, places.tone)
    short = (rest - smooth_within(rest, where, _SHORT / job.step))[where]
    found = strongest_stripes(places, short)
    if found is None:
        return None, np.zeros(len(places))
    return found, _fitted([found.waves(places)], short)


def _taken_apart(
    job: MeasuredJob,
    places: MarkedPlaces,
    columns: Mapping[str, Floats],
    sure: Mapping[str, float],
    forms: tuple[Floats | None, Stripes | None],
) -> Causes:
    """What the fit loses without each cause, in words too."""
    level = level_shape(places)
    kept = _worth_naming(level, columns, places.tone)
    losses = _losses(level, kept, places.tone)
    found = [FoundCause(name=name, loss=losses[name], sure=sure[name]) for name in kept]
    found.sort(key=lambda one: (-one.loss, one.name))
    rest = places.tone - _fitted([level, *kept.values()], places.tone)
    heat = _heat_tone(level, kept, places.tone)
    words = CauseWords(
        places=places,
        heat=heat,
        bell=forms[0] if PATCH in kept else None,
        stripes=forms[1] if LINES in kept else None,
        alike=_alike(places),
        uneven=float(np.std(places.tone)),
    )
    where = marked(job)
    heat_map = np.full(where.shape, np.nan)
    heat_map[where] = heat
    return Causes(
        found=tuple(found),
        uneven=words.uneven,
        rest=float(np.std(rest)),
        alike=words.alike,
        heat=heat_map,
        sentences=sentences_of(found, words),
    )


def _worth_naming(level: Floats, columns: Mapping[str, Floats], tone: Floats) -> dict[str, Floats]:
    """The columns without causes that explain too little, the least of them taken out first."""
    kept = dict(columns)
    while kept:
        losses = _losses(level, kept, tone)
        least = min(kept, key=lambda name: (losses[name], name))
        if losses[least] >= LEAST:
            break
        del kept[least]
    return kept


def _losses(level: Floats, columns: Mapping[str, Floats], tone: Floats) -> dict[str, float]:
    """How much worse the fit is without each cause, rms ΔL*."""
    rest = tone - _fitted([level, *columns.values()], tone)
    losses = {}
    for name in columns:
        others = [held for key, held in columns.items() if key != name]
        gone = tone - _fitted([level, *others], tone)
        more = float(gone @ gone) - float(rest @ rest)
        losses[name] = float(np.sqrt(max(more, 0.0) / len(tone)))
    return losses


def _heat_tone(level: Floats, columns: Mapping[str, Floats], tone: Floats) -> Floats:
    """The part of the tones that heat explains, about its median; 0 where it is no cause."""
    if HEAT not in columns:
        return np.zeros(len(tone))
    others = [held for name, held in columns.items() if name != HEAT]
    heat = columns[HEAT]
    whole = np.column_stack([heat, level, *others])
    amounts = np.linalg.lstsq(whole, tone, rcond=None)[0]
    held = heat @ amounts[: heat.shape[1]]
    return np.asarray(held - np.median(held))


def _alike(places: MarkedPlaces) -> float:
    """Share of the predicted index that a plane explains."""
    plane = [np.ones((len(places), 1)), places.x[:, None], places.y[:, None]]
    apart = places.index - _fitted(plane, places.index)
    left = float(np.var(apart)) / (float(np.var(places.index)) + 1e-12)
    return 1 - left


def _fitted(columns: Sequence[Floats], tone: Floats) -> Floats:
    whole = np.column_stack(columns)
    return np.asarray(whole @ np.linalg.lstsq(whole, tone, rcond=None)[0])
