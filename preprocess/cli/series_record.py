"""The record of a series: an entry to each design that was made, numbered in their order."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.record.entry import RecordEntry, entry_of
from preprocess.record.folder import added, read_entries
from preprocess.record.history import history_findings
from preprocess.write.atomic import replace_file
from preprocess.write.digest import sha256_hex
from preprocess.write.targets import check_target, unwritable_as_error

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.pipeline import Conversion
    from preprocess.recipe.load import LoadedRecipe
    from preprocess.record.folder import Entries


@dataclass(frozen=True, slots=True)
class DesignRecorder:
    """Makes entries of one drawing; `graded` are its earlier ones that have a grade."""

    graded: Entries

    def __call__(
        self, result: Conversion, loaded: LoadedRecipe, design: bytes, names: tuple[str, str], /
    ) -> tuple[Conversion, object]:
        """The conversion with what the record says of its drawing, and its own entry."""
        entry = entry_of(result, loaded, design, names)
        findings = (*result.findings, *history_findings(entry, self.graded))
        return replace(result, findings=findings), entry


@dataclass(frozen=True, slots=True)
class SeriesRecord:
    """Folder of the record, and the entries that it held before the series."""

    folder: Path
    known: Entries

    def recorder(self, design: bytes, /) -> DesignRecorder:
        """Maker of the entries of a drawing."""
        digest = sha256_hex(design)
        same = ((path, one) for path, one in self.known.items() if one.design_sha256 == digest)
        return DesignRecorder({path: one for path, one in same if one.last_graded is not None})

    def holds(self, recorded: str, /) -> bool:
        """Test whether an entry of this name lies in the folder; false for an empty name."""
        return bool(recorded) and (self.folder / recorded).is_file()

    def write(self, made: Mapping[int, object], /) -> dict[int, str]:
        """Write the entries of designs in their order, whichever was ready first.

        Raises:
            UserError: the folder cannot be written to.
        """
        known, names = dict(self.known), dict[int, str]()
        for number, entry in sorted(made.items()):
            if isinstance(entry, RecordEntry):
                path, data = added(entry, self.folder, known, anywhere=True)
                with unwritable_as_error(path):
                    check_target(path)
                    replace_file(path, data)
                known[path] = replace(entry, number=int(path.name.partition("-")[0]))
                names[number] = path.name
        return names


def open_record(folder: str) -> SeriesRecord | None:
    """The record of a folder, which is made if missing; None without a name.

    Raises:
        UserError: the folder cannot be made, or an entry cannot be read.
    """
    if not folder:
        return None
    path = Path(folder)
    known = read_entries(path)
    with unwritable_as_error(path):
        path.mkdir(parents=True, exist_ok=True)
    return SeriesRecord(path, known)
