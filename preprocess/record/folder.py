"""The folder of a record: entries read, found again, added, and given their outcome."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.errors import Place, UserError, wrong
from preprocess.loading.schema.value_reading import read_declared
from preprocess.loading.yaml.yaml_document import load_yaml
from preprocess.record.entry import Outcome, RecordEntry, entry_bytes, entry_name

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

Entries = dict["Path", RecordEntry]

LAST = "last"
"""What the newest entry is called."""


def read_entries(folder: Path) -> Entries:
    """All entries of a folder by file, in the order of their numbers; none without the folder.

    Raises:
        UserError: the folder is a file, or an entry cannot be read.
    """
    if folder.exists() and not folder.is_dir():
        raise wrong("this is no folder", "name a folder for the record", place=Place(str(folder)))
    files = sorted(folder.glob("[0-9]*.yaml")) if folder.is_dir() else []
    found = {path: _read(path) for path in files}
    return dict(sorted(found.items(), key=lambda pair: (pair[1].number, pair[0].name)))


def _read(path: Path) -> RecordEntry:
    entry, complaints = read_declared(RecordEntry, load_yaml(path))
    if entry is None:
        raise UserError(complaints)
    return entry


def added(
    entry: RecordEntry, folder: Path, known: Entries, *, anywhere: bool = False
) -> tuple[Path, bytes]:
    """File and bytes of a new entry; the newest one's own where it is the same and unmarked.

    With `anywhere`, that of any one: plates of a series are made anew together.
    """
    newest_first = list(reversed(known.items()))
    for path, old in newest_first if anywhere else newest_first[:1]:
        if not old.marked and path.name == entry_name(replace(entry, number=old.number)):
            return path, path.read_bytes()
    numbered = replace(entry, number=max((one.number for one in known.values()), default=0) + 1)
    return folder / entry_name(numbered), entry_bytes(numbered)


def chosen(known: Entries, name: str, folder: Path) -> tuple[Path, RecordEntry]:
    """The entry of a number, of a file, or the last one.

    Raises:
        UserError: there is none, or there are several of that number.
    """
    if name == LAST:
        found = list(known.items())[-1:]
    else:
        found = [
            (path, entry)
            for path, entry in known.items()
            if path.name == name or (name.isdecimal() and entry.number == int(name))
        ]
    place = Place(str(folder))
    if not found:
        remedy = f"write {LAST}, or a number of evenmark log" if known else "run with --record"
        raise wrong(f"the record has no entry {name!r}", remedy, place=place)
    if len(found) > 1:
        names = " and ".join(path.name for path, _ in found)
        raise wrong(f"two entries have the number {name}", f"name its file: {names}", place=place)
    return found[0]


def with_outcome(path: Path, entry: RecordEntry, outcome: Outcome) -> bytes:
    """The file of an entry with one line more; what people wrote into it stays."""
    text = path.read_text("utf-8")
    line = entry_bytes(replace(entry, marked=(outcome,))).decode().rpartition("marked:\n")[2]
    if not entry.marked:
        line = f"marked:\n{line}"
    return (text if text.endswith("\n") else f"{text}\n").encode() + line.encode()


def matching(
    known: Entries, *, part: str = "", filament: str = "", design: str = ""
) -> Sequence[tuple[Path, RecordEntry]]:
    """Entries whose part, filament and design hold these words, capitals aside."""
    wanted = (("part", part), ("filament", filament), ("design", design))
    return [
        (path, entry)
        for path, entry in known.items()
        if all(
            words.casefold() in (getattr(entry, key) or "").casefold()
            for key, words in wanted
            if words
        )
    ]
