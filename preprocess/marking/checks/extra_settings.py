"""Extra settings of a job beside those with which its filament was graded."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.findings import Finding, listed, warn

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from preprocess.model.artwork.settings import Settings
    from preprocess.model.bench.filament import Filament


def other_extra_settings(
    filament: Filament, by_output: Mapping[str, Settings]
) -> Iterator[Finding]:
    """One warning for each setting that differs, with all layers that it concerns.

    A profile without grades, or of before such settings were written down, tells of none: then
    there is nothing to compare.
    """
    graded = filament.extra_settings
    if not graded:
        return
    for name in sorted({*graded, *(n for s in by_output.values() for n, _ in s.extra)}):
        others: dict[str, list[str]] = {}
        for output, settings in by_output.items():
            here = dict(settings.extra).get(name, "not told")
            if here != graded.get(name, "not told"):
                others.setdefault(here, []).append(output)
        for here, outputs in others.items():
            message = (
                f"{name.replace('_', ' ')} is {here} for {listed(outputs)}, but {filament.name} "
                f"was graded with {graded.get(name, 'none told')}"
            )
            remedy = "set it as it was graded, or grade a coupon made with the new one"
            yield warn("other-extra-settings", message, remedy)
