"""Take the safety guards away, one after another, and see whether a test notices each.

usage: python -m tests.mutants_of_guards [--only WORD]

Works on a copy. A mutant is one piece of source that is replaced by another; where it stands must
be found exactly once. It counts as found when its tests fail, each in a process of its own.
"""

from __future__ import annotations

import argparse
import importlib
import shutil
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

from ruamel.yaml import YAML

from tests.mutate import PRELOADED, noticed

ROOT = Path(__file__).parents[1]
LIST = Path(__file__).parent / "guards.yaml"


class Guard(NamedTuple):
    """A guard without which a test must fail: what it is, where, and what stands instead."""

    name: str
    file: str
    old: str
    new: str
    tests: tuple[str, ...]


def guards() -> tuple[Guard, ...]:
    """All guards of `guards.yaml`, in its order."""
    listed = YAML(typ="safe").load(LIST.read_text("utf-8"))
    return tuple(
        Guard(name, file, old, new, tuple(entry["tests"]))
        for file, entry in listed.items()
        for name, old, new in entry["guards"]
    )


def without(guard: Guard, source: str) -> str:
    """The source without a guard.

    Raises:
        ValueError: the guard does not stand there exactly once.
    """
    if source.count(guard.old) != 1:
        raise ValueError(f"{guard.file}: {guard.name}: found {source.count(guard.old)} times")
    return source.replace(guard.old, guard.new)


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", default="", help="mutants whose name or file has this word")
    parser.add_argument("--seconds", type=int, default=300)
    args = parser.parse_args(arguments)
    chosen = [guard for guard in guards() if args.only in f"{guard.name} {guard.file}"]
    sys.dont_write_bytecode = True
    for name in PRELOADED:
        importlib.import_module(name)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "copy"
        left_out = shutil.ignore_patterns(".git", "__pycache__", ".venv*", ".hypothesis")
        shutil.copytree(ROOT, folder, ignore=left_out)
        sys.path[:0] = [str(folder)]
        sys.path[:] = [path for path in sys.path if Path(path or ".").resolve() != ROOT]
        for tests in dict.fromkeys(guard.tests for guard in chosen):
            if noticed(folder, list(tests), args.seconds):
                sys.exit(f"{' '.join(tests)} fails on what is there")
        survivors = 0
        for guard in chosen:
            if not _found(guard, folder, args.seconds):
                survivors += 1
                print(f"not found: {guard.file}: {guard.name}", flush=True)
    print(f"{len(chosen)} guards taken away, {len(chosen) - survivors} found")
    return 1 if survivors else 0


def _found(guard: Guard, folder: Path, seconds: int) -> bool:
    target = folder / guard.file
    source = target.read_text("utf-8")
    target.write_text(without(guard, source), "utf-8")
    try:
        return noticed(folder, list(guard.tests), seconds)
    finally:
        target.write_text(source, "utf-8")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
