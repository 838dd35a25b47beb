"""Causes of a job's unevenness, from its measured map: each by what the fit loses without it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from preprocess.causes.evidence import CauseColumns, likely_bells, weigh
from preprocess.causes.found import HEAT, LINES, PATCH, TILT, Causes, FoundCause
from preprocess.causes.losses import CauseFit, fitted
from preprocess.causes.marked_places import block_means, marked, places_of, smooth_within
from preprocess.causes.sentences import CauseWords, sentences_of
from preprocess.causes.shapes import (
    bell_columns,
    bell_shapes,
    bell_tones,
    finer_bells,
    heat_shapes,
    level_shape,
    tilt_shapes,
)
from preprocess.causes.stripes import strongest_stripes
from preprocess.errors import Refusal
from preprocess.photo.map_grid import SMOOTH

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.causes.evidence import Weighed
    from preprocess.causes.marked_places import MarkedPlaces
    from preprocess.causes.stripes import Stripes
    from preprocess.photo.measured import MeasuredJob

LEAST = 0.7
"""ΔL* that a cause must explain to be named: less is told from slow changes of light by chance."""

_FEWEST = 200
"""Values of a map below which nothing can be told."""

_CLOSELY = 4
"""Likely patches around which is looked more closely, for each set of other causes."""

_TEN_TO_NINETY = 2.563
"""Width of a blurred edge from 10 to 90 % over the standard deviation of the blur."""

_LEAST_SHOWN = 0.15
"""Share of the height of lines that is taken to come through at least."""

_SHORT = 1.2
"""mm: what is longer than this is no line of the print."""


class _Chosen(NamedTuple):
    """The fit of the causes that are told, and the form of patch and lines where they are."""

    fit: CauseFit
    losses: dict[str, float]
    bell: Floats | None
    stripes: Stripes | None


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
    weighed, bells = _weighed(blocks)
    chosen = _chosen(job, places, (weighed, bells), stripes)
    sure = {**weighed.sure, LINES: 1.0}
    found = [FoundCause(name=n, loss=loss, sure=sure[n]) for n, loss in chosen.losses.items()]
    found.sort(key=lambda one: (-one.loss, one.name))
    heat = chosen.fit.tone_of(HEAT)
    words = CauseWords(
        places=places,
        heat=heat,
        bell=chosen.bell,
        stripes=chosen.stripes,
        alike=_alike(places),
        uneven=float(np.std(places.tone)),
        shown=chosen.fit.shown,
    )
    where = marked(job)
    heat_map = np.full(where.shape, np.nan)
    heat_map[where] = heat
    return Causes(
        found=tuple(found),
        uneven=words.uneven,
        rest=float(np.std(chosen.fit.rest)),
        alike=words.alike,
        heat=heat_map,
        sentences=sentences_of(found, words),
    )


def _chosen(
    job: MeasuredJob,
    places: MarkedPlaces,
    weighed_bells: tuple[Weighed, Floats],
    stripes: Stripes | None,
) -> _Chosen:
    """The likeliest set of causes of which each makes a difference."""
    weighed, bells = weighed_bells
    shown = _shown(job, stripes)
    lines = {} if stripes is None else {LINES: stripes.waves(places)}
    for some in weighed.in_order:
        heat, tilt, number = weighed.chosen[some]
        columns = dict(lines)
        if HEAT in some:
            columns[HEAT] = heat_shapes(places)[heat]
        if TILT in some:
            columns[TILT] = tilt_shapes(places)[tilt]
        if PATCH in some:
            columns[PATCH] = bell_tones(places, bells[[number]])
        fit = CauseFit(places.tone, level_shape(places), columns, shown)
        losses = fit.losses
        if losses.get(LINES, LEAST) < LEAST:
            return _chosen(job, places, weighed_bells, None)
        if all(loss >= LEAST for loss in losses.values()):
            break
    return _Chosen(fit, losses, bells[number] if PATCH in some else None, stripes)


def _shown(job: MeasuredJob, stripes: Stripes | None) -> float:
    """Share of the height of lines that the photos and the map let through: both blur them."""
    if stripes is None or not job.photos:
        return 1.0
    photo = float(np.median([photo.edge for photo in job.photos])) / _TEN_TO_NINETY
    blur = np.pi * np.hypot(photo, SMOOTH) / stripes.apart
    return max(float(np.exp(-2 * blur**2)), _LEAST_SHOWN)


def _weighed(blocks: MarkedPlaces) -> tuple[Weighed, Floats]:
    """All sets of causes, weighed, and the bells whose numbers they name."""
    bells = bell_shapes(blocks)
    whole = CauseColumns(
        level=level_shape(blocks),
        heats=heat_shapes(blocks),
        tilts=tilt_shapes(blocks),
        bells=bell_columns(blocks, bells),
        shares=np.full(len(bells), 1 / len(bells)),
    )
    near = likely_bells(blocks, whole, _CLOSELY)
    finer = [finer_bells(bells[number]) for number in near]
    kept = np.delete(np.arange(len(bells)), near)
    every = np.concatenate([bells[kept], *finer])
    parted = [np.full(len(some), 1 / len(bells) / len(some)) for some in finer]
    shares = np.concatenate([whole.shares[kept], *parted])
    return weigh(blocks, replace(whole, bells=bell_columns(blocks, every), shares=shares)), every


def _stripes(job: MeasuredJob, places: MarkedPlaces) -> tuple[Stripes | None, Floats]:
    """The lines of the print, and their tone at each place."""
    where = marked(job)
    long = [level_shape(places), heat_shapes(places)[-1], *tilt_shapes(places)]
    rest = np.full(where.shape, np.nan)
    rest[where] = places.tone - fitted(long, places.tone)
    short = (rest - smooth_within(rest, where, _SHORT / job.step))[where]
    found = strongest_stripes(places, short)
    if found is None:
        return None, np.zeros(len(places))
    return found, fitted([found.waves(places)], short)


def _alike(places: MarkedPlaces) -> float:
    """Share of the predicted index that a plane explains."""
    plane = [np.ones((len(places), 1)), places.x[:, None], places.y[:, None]]
    apart = places.index - fitted(plane, places.index)
    left = float(np.var(apart)) / (float(np.var(places.index)) + 1e-12)
    return 1 - left
