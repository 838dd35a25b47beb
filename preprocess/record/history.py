"""History in the record of a drawing on a filament: bad grades are told before the next mark."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.coupon.design.model import Grade
from preprocess.findings import Finding, warn
from preprocess.marking.checks.profile_checks import plain_name

if TYPE_CHECKING:
    from preprocess.record.entry import RecordEntry
    from preprocess.record.folder import Entries


def history_findings(entry: RecordEntry, known: Entries) -> tuple[Finding, ...]:
    """A warning where the last grade of the same drawing on the same filament was not even."""
    graded = [
        (one, outcome)
        for one in known.values()
        if _is_same(one, entry) and (outcome := one.last_graded) is not None
    ]
    if not graded or graded[-1][1].grade is Grade.EVEN:
        return ()
    old, outcome = graded[-1]
    settings = "the same" if old.layers == entry.layers else "other"
    seen = f' ("{outcome.note}")' if outcome.note else ""
    message = (
        f"{entry.design} on {entry.filament or 'the filament'} was graded {outcome.grade} before, "
        f"with {settings} settings{seen}: entry {old.number} of the record"
    )
    remedy = f"see evenmark log {old.number}, and change what made it so"
    return (warn("graded-badly-before", message, remedy),)


def _is_same(one: RecordEntry, other: RecordEntry) -> bool:
    spools = (plain_name(entry.filament or "") for entry in (one, other))
    return one.design_sha256 == other.design_sha256 and len(set(spools)) == 1
