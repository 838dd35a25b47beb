"""The walk of docs/use/walkthrough.md: every command of it, and what it writes.

``python -m tests.walkthrough`` does it anew and writes fixtures/walkthrough. The grades come from
a simulated filament (tests/simulated_users.py); the test takes them as they lie there.
"""

from __future__ import annotations

import csv
import io
import os
import re
import shlex
import shutil
from contextlib import chdir, redirect_stderr, redirect_stdout
from pathlib import Path

from preprocess.cli import app

ROOT = Path(__file__).parents[1]
FOLDER = ROOT / "fixtures" / "walkthrough"
GIVEN = (
    "as-drawn.jpg",
    "bench.yaml",
    "coupons.yaml",
    "even.jpg",
    "fern-label.svg",
    "label.yaml",
)
GRADED = "first.grades.csv", "second.grades.csv"
LEFT = r"\.measured\.|^frame\.html$"
FILAMENT = 17

COMMANDS = (
    "coupon coupons.yaml power-speed --powers 12%,25%,50% --speeds 600mm/s,300mm/s -o first.svg",
    "fit first.grades.csv -o moss-petg.yaml --graded 2026-11-20 --next second.svg",
    "fit second.grades.csv -o moss-petg.yaml --graded 2026-11-21 --plot band.svg",
    "equivalents moss-petg.yaml",
    "predict label.yaml --map heat.svg",
    "advise label.yaml --write even.yaml",
    "run even.yaml -o fern-label.laser.svg --overlay fern-label.overlay.svg",
    "frame label.yaml -o frame.html",
    "measure label.yaml as-drawn.jpg",
    "measure even.yaml even.jpg",
)


def walk(folder: Path, tables: Path | None) -> str:
    """Run all commands in a folder; returns what they said.

    Tables that are filled in are taken from `tables` as soon as a blank one was written; without
    it the simulated filament fills them in.
    """
    for name in GIVEN:
        shutil.copy(FOLDER / name, folder)
    said = io.StringIO()
    with chdir(folder), redirect_stdout(said), redirect_stderr(said):
        for command in COMMANDS:
            app.app(shlex.split(command), standalone_mode=False)
            for number, name in enumerate(GRADED):
                table = folder / name
                if not table.exists() or not blank(table):
                    continue
                if tables is None:
                    judge(table, number)
                else:
                    shutil.copy(tables / name, table)
    return said.getvalue()


def blank(table: Path) -> bool:
    """Whether nobody has filled in a table."""
    return not any(row["grade"] for row in csv.DictReader(table.read_text().splitlines()))


def judge(table: Path, number: int) -> None:
    """Let the simulated user fill in a table."""
    import numpy as np

    from preprocess.coupon.paper.file_names import definitions_beside
    from tests.simulated_users import judged, user

    text = table.read_text()
    definition = next(d for name, d in definitions_beside(table).items() if name in text)
    trial = judged(definition, user(FILAMENT), np.random.default_rng(number + 1))
    lines = text.splitlines()
    filled = [lines[0], *(f"{line}{trial.grades[line.split(',')[1]][0]}" for line in lines[1:])]
    table.write_text("\n".join(filled) + "\n")


def made(folder: Path) -> dict[str, bytes]:
    """The files of a walk that are kept: neither pages with photos in them nor maps."""
    kept = (path for path in sorted(folder.iterdir()) if not re.search(LEFT, path.name))
    return {path.name: path.read_bytes() for path in kept}


def main() -> None:
    """Do the walk anew."""
    import tempfile

    os.environ["NO_COLOR"] = "1"
    with tempfile.TemporaryDirectory() as name:
        said = walk(Path(name), None)
        for file, data in made(Path(name)).items():
            (FOLDER / file).write_bytes(data)
    print(said)


if __name__ == "__main__":
    main()
