"""Feed damaged grade tables, coupons and profiles to their readers: an answer in words each time.

usage: python -m tests.fuzz_coupons SECONDS SEED [--inputs N] [--keep OUT]

Tables lie beside the right definition of their coupon. A definition that can still be read is drawn
too, with its sheet and table, and a profile's trials are read as `fit` reads them. Judged like
tests/fuzz_yaml.py. The same seed gives the same inputs.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.calibrate.grades.grade_table import read_grade_table
from preprocess.calibrate.grades.trials import read_profile, trials_from_table
from preprocess.coupon.design.definition import read_definition
from preprocess.coupon.paper.file_names import DEFINITION_SUFFIX, TABLE_SUFFIX
from preprocess.coupon.paper.files import coupon_files
from preprocess.errors import Place, Refusal, wrong
from tests.fuzz_yaml import FIXTURES, fuzz, mutated, parser_of

if TYPE_CHECKING:
    import random

WORDS = ("even", "EVEN", "evan", "weak", "molten", "=1+1", "@SUM(A1)", "\u202eeven", "even;even")
ENDS = ("\r\n", "\r", "\n\n", "\x0b", "\x00")
SCRATCH = Path(tempfile.mkdtemp(prefix="fuzz-coupons-"))


def _columns(chance: random.Random, text: str) -> str:
    rows = [line.split(",") for line in text.split("\n")]
    one, two = chance.randrange(len(rows[0])), chance.randrange(len(rows[0]))
    for row in rows:
        if len(row) == len(rows[0]):
            match one % 3:
                case 0:
                    del row[two]
                case 1:
                    row.insert(one, row[two])
                case _:
                    row[one], row[two] = row[two], row[one]
    return "\n".join(map(",".join, rows))


def _grades(chance: random.Random, text: str) -> str:
    lines = text.split("\n")
    for _ in range(chance.randrange(1, 6)):
        at = chance.randrange(len(lines))
        lines[at] = lines[at].rpartition(",")[0] + "," + chance.choice(WORDS)
    return "\n".join(lines)


def _ends(chance: random.Random, text: str) -> str:
    return chance.choice(("", "\ufeff")) + text.replace("\n", chance.choice(ENDS))


def _separated(chance: random.Random, text: str) -> str:
    return text.replace(",", chance.choice((";", "\t", "|", ", ", '","')))


def damaged(chance: random.Random, text: str, other: str) -> str:
    """Damage as of any text, and for tables what a spreadsheet or a slip of a row does."""
    if "cell," in text.split("\n", maxsplit=1)[0] and chance.random() < 0.6:
        return chance.choice((_columns, _grades, _ends, _separated))(chance, text)
    return mutated(chance, text, other)


def grades(text: str, path: Path) -> None:
    stem = path.name.removesuffix(TABLE_SUFFIX)
    table = SCRATCH / f"{path.parent.name}-{stem}" / path.name
    own = f"{stem}{DEFINITION_SUFFIX}"
    if not table.parent.exists():
        table.parent.mkdir()
        (table.parent / own).write_bytes(path.with_name(own).read_bytes())
    table.write_text(text, "utf-8", "surrogatepass", newline="")
    trials_from_table(read_grade_table(table), None)


def definition(text: str, path: Path) -> None:
    own = SCRATCH / "own.yaml"
    own.write_text(text, "utf-8", "surrogatepass", newline="")
    try:
        coupon_files(read_definition(own), SCRATCH / "own.svg")
    except Refusal as refusal:
        raise wrong(refusal.found, refusal.remedy, place=Place(path.name)) from refusal


def profile(text: str, _: Path) -> None:
    old = SCRATCH / "profile.yaml"
    old.write_text(text, "utf-8", "surrogatepass", newline="")
    read_profile(old)


def reader_of(path: Path, _: str):
    """Which reader a file is meant for."""
    if path.name.endswith(TABLE_SUFFIX):
        return grades
    return definition if path.name.endswith(DEFINITION_SUFFIX) else profile


def main(arguments: list[str]) -> int:
    args = parser_of(__doc__).parse_args(arguments)
    folders = (FIXTURES / "coupons", FIXTURES / "walkthrough")
    paths = [
        p
        for f in folders
        for e in (TABLE_SUFFIX, DEFINITION_SUFFIX)
        for p in sorted(f.rglob(f"*{e}"))
    ]
    paths += [
        p for p in sorted(folders[1].rglob("*.yaml")) if "trials:" in p.read_text("utf-8")
    ] * 3
    return fuzz(args, [(p, p.read_text("utf-8")) for p in paths], reader_of, damaged)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
