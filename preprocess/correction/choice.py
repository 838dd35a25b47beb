"""Which way a part is corrected: its recipe solved anew, or the powers of its colours moved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.correction.correct import Correction, corrected_powers
from preprocess.correction.solved_anew import Hardly, SolvedAnew, solved_anew
from preprocess.model.artwork.output import output_layers

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.calibrate.grades.trials import CouponTrial
    from preprocess.correction.solved_anew import AtSpread
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench
    from preprocess.photo.measured import MeasuredJob

SOLVING_STEPS = frozenset({"solve-power", "grey"})
"""Steps that set powers by the heat that they predict."""


def corrected_job(
    job: MeasuredJob,
    artwork: Artwork,
    bench: Bench,
    at_spread: AtSpread | None,
    trials: Sequence[CouponTrial] = (),
) -> Correction | SolvedAnew:
    """Solve anew what was solved; move powers of what was not, or of what that hardly evens out.

    `at_spread` carries the recipe out for another spread and its interval (mm); None where no step
    solves powers.

    Raises:
        Refusal: neither would make the part more even, or heat is no cause.
    """
    if at_spread is None:
        return corrected_powers(job, artwork, bench, trials)
    try:
        return solved_anew(job, artwork, bench, at_spread, trials)
    except Hardly:
        if any(output.in_greys for output in output_layers(artwork)):
            raise
        return corrected_powers(job, artwork, bench, trials)
