"""Check for the power and speed at which a layer's lines are scored."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.findings import Finding, warn
from preprocess.model.artwork.settings import Operation

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.model.artwork.artwork import Artwork

_NEEDED = {"power": "power: 30 %", "speed": "speed: 250 mm/s"}
"""Settings without which nothing can be scored, as a recipe writes them."""


def score_settings(artwork: Artwork, layer: str, what: str) -> Iterator[Finding]:
    """A warning where settings of scoring are missing for what a pass made: "rows", say."""
    scoring = artwork.layer(layer).of(Operation.SCORE)
    missing = [key for key in _NEEDED if getattr(scoring, key) is None]
    if missing:
        message = f"{layer} has no {' and no '.join(missing)} to score its {what} with"
        example = ", ".join(_NEEDED[key] for key in missing)
        remedy = f"add it to the recipe, such as settings: {{score: {{{example}}}}}"
        yield warn("score-settings-missing", message, remedy)
