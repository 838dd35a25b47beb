"""The log of a series: one JSON line for each design, in the order of the series.

Designs that lie in the folder from other series follow behind.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from preprocess.errors import Place, wrong
from preprocess.write.atomic import replace_file
from preprocess.write.digest import sha256_hex

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

LOG_NAME = "series.jsonl"

DONE, UNCHANGED, FAILED = "done", "unchanged", "failed"


@dataclass(frozen=True, slots=True, kw_only=True)
class LogEntry:
    """One design: its status, the hash of what it depends on (`key`), SHA-256 of each output.

    `recorded` is the file of its entry in the record; empty without one.
    """

    design: str
    status: str
    key: str
    outputs: Mapping[str, str] = field(default_factory=dict)
    figures: Mapping[str, Any] = field(default_factory=dict)
    problems: tuple[str, ...] = ()
    findings: tuple[dict[str, Any], ...] = ()
    bug: str = ""
    recorded: str = ""


def read_log(folder: Path) -> dict[str, LogEntry]:
    """Entries of an earlier run by design; unreadable lines are ignored."""
    try:
        lines = (folder / LOG_NAME).read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        return {}
    entries = (entry for line in lines if (entry := _entry(line)) is not None)
    return {entry.design: entry for entry in entries}


def write_log(folder: Path, entries: Iterable[LogEntry]) -> None:
    """Put the whole log in place of the old one."""
    data = "".join(map(_line, entries)).encode("utf-8", "backslashreplace")
    replace_file(folder / LOG_NAME, data)


def add_to_log(folder: Path, entry: LogEntry) -> None:
    """Put one more line at the end, so that finished work is known after a crash.

    Raises:
        UserError: the folder cannot be written to.
    """
    try:
        with (folder / LOG_NAME).open("a", encoding="utf-8", errors="backslashreplace") as file:
            file.write("\n" + _line(entry))  # the last line may have been cut off
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        remedy = "free the disk, or choose another folder"
        place = Place(str(folder / LOG_NAME))
        raise wrong(f"cannot write here ({reason})", remedy, place=place) from error


def outputs_stand(entry: LogEntry, folder: Path) -> bool:
    """Test whether all outputs of an entry lie in the folder as they were written."""
    return bool(entry.outputs) and all(
        _content(folder / name) == content for name, content in entry.outputs.items()
    )


def _line(entry: LogEntry) -> str:
    return json.dumps(asdict(entry), ensure_ascii=False) + "\n"


def _content(path: Path) -> str:
    try:
        return sha256_hex(path.read_bytes())
    except OSError:
        return ""


def _entry(line: str) -> LogEntry | None:
    try:
        held = json.loads(line)
        return LogEntry(
            design=str(held["design"]),
            status=str(held["status"]),
            key=str(held["key"]),
            outputs={str(name): str(content) for name, content in held["outputs"].items()},
            figures=dict(held["figures"]),
            problems=tuple(map(str, held["problems"])),
            findings=tuple(held["findings"]),
            recorded=str(held.get("recorded", "")),
        )
    except (ValueError, TypeError, KeyError, AttributeError):
        return None
