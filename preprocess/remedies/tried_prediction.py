"""Predictions of a job whose findings name only remedies that were simulated on it."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from preprocess.marking.prediction import predict, predict_pair
from preprocess.marking.solver.hearing import overheard
from preprocess.remedies.trials import JobTrials

if TYPE_CHECKING:
    from collections.abc import Callable

    from preprocess.marking.prediction import Prediction
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench


def predict_output(
    drawn: Artwork,
    artwork: Artwork,
    bench: Bench,
    tell: Callable[[float], None] = overheard,
    *,
    surely: bool = False,
) -> Prediction:
    """Predict artwork as it would be written, in full.

    Args:
        drawn: the drawing before passes.
        artwork: as it would be written.
        bench: machine, filament and parts.
        tell: called with the share of the work that has been done since.
        surely: say between which values the largest index lies, at four more coarse runs.
    """
    trials = partial(JobTrials, drawn, artwork, bench)
    return predict(artwork, bench, surely=surely, tell=tell, trials=trials)


def predict_drawing_and_output(
    drawn: Artwork, artwork: Artwork, bench: Bench, tell: Callable[[float], None] = overheard
) -> tuple[Prediction, Prediction]:
    """Predict the drawing and the output within a bound, under the same settings."""
    trials = partial(JobTrials, drawn, artwork, bench)
    return predict_pair(drawn, artwork, bench, tell, trials)
