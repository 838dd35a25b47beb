"""Feed damaged YAML to the readers of recipes, machines, filaments: an answer in words each time.

usage: python -m tests.fuzz_yaml SECONDS SEED [--values] [--inputs N] [--keep OUT]

The YAML files of the fixtures are damaged at random: characters, values, keys, lines and indents
are changed, repeated, exchanged with those of other files, or left out. A reader must come back
with a value or with a UserError whose complaints are one line each and name a place, within 5 s of
processor time and 1 GiB. Whatever else happens is kept under OUT. Warnings count as failures. The
same seed gives the same inputs.
"""

from __future__ import annotations

import argparse
import random
import re
import resource
import sys
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.errors import UserError
from preprocess.loading.schema.value_reading import read_declared
from preprocess.loading.yaml.yaml_document import parse_yaml
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import Machine
from preprocess.model.options.lettering import Serial, TextRule
from preprocess.recipe.load import load_recipe
from preprocess.recipe.recipe_keys import Recipe
from preprocess.series.values import label_designs, read_values
from tests.processor_time import TooLongError, at_most

if TYPE_CHECKING:
    from collections.abc import Callable

Files = list[tuple[Path, str]]
FIXTURES = Path(__file__).parents[1] / "fixtures"
SLOW_S = 5
MOST_MEMORY = 2**30
VALUE = re.compile(r"(?<=[:\[,] )[^,\[\]{}\n]+")
KEY = re.compile(r"[\w-]+(?=:)")
ODD = (
    "0", "-1", "1e400", "-0", ".nan", ".inf", "9" * 400, "0x" + "f" * 300, "1_0", "012", "0o17",
    "~", "null", "true", "yes", "", "''", '"', "'", "[", "]", "{", "}", "{}", "[]", "[[]]", "- a",
    "&a 1", "*a", "&a [*a]", "!!python/name:os.system x", "!x y", "!!binary aa==", "!!set {a}",
    "2026-01-01", "1:30", "<<", "? a", "|", ">", "|\n  a\n", "#a", "'#a'", "%", "1 %", "101 %",
    "-1 mm", "1 mm", "1e308 m", "1e-320 mm", "1 lines/in", "0 lines/in", "1 mm/s", "٣ mm", "१",
    "\u202e", "\ufeff", "\x00", "\x1b[31m", "\x85", "\u2028", "\ud7ff", "😀", "a" * 5000,
    "a.svg", "/dev/null", "..", "\t", "  ", "---", "...", "%YAML 1.1\n---", "!!float 1",
    "!!int 1", "!!str 1", "!!bool 1", "!!null x", "!!timestamp x", "merge", "{merge: {}}", "²",
)  # fmt: skip


def _put(text: str, match: re.Match | None, new: str) -> str:
    return text if match is None else text[: match.start()] + new + text[match.end() :]


def _spot(chance: random.Random, pattern: re.Pattern, text: str) -> re.Match | None:
    return pattern.search(text, chance.randrange(len(text) + 1)) or pattern.search(text)


def _value(chance: random.Random, text: str, other: str) -> str:
    source = _spot(chance, VALUE, other)
    new = source[0] if source and chance.random() < 0.4 else chance.choice(ODD)
    return _put(text, _spot(chance, VALUE, text), new)


def _key(chance: random.Random, text: str, other: str) -> str:
    source = _spot(chance, KEY, other)
    new = source[0] if source and chance.random() < 0.7 else chance.choice(ODD)
    return _put(text, _spot(chance, KEY, text), new)


def _character(chance: random.Random, text: str, _: str) -> str:
    at = chance.randrange(len(text) + 1)
    new = chance.choice((chr(chance.randrange(256)), *":-,[]{}#&*!|>'\"%@` \n\t"))
    return text[:at] + new + text[at + chance.randrange(2) :]


def _cut(chance: random.Random, text: str, _: str) -> str:
    at = chance.randrange(len(text) + 1)
    return text[:at] + text[at + chance.choice((1, 3, 20, 200)) :]


def _line(chance: random.Random, text: str, other: str) -> str:
    lines = text.split("\n")
    at = chance.randrange(len(lines))
    kind = chance.randrange(4)
    if kind == 0:
        lines.insert(at, chance.choice(other.split("\n")))
    elif kind == 1:
        lines.insert(at, lines[at])
    elif kind == 2:
        del lines[at]
    else:
        lines[at] = " " * chance.choice((1, 2, 4)) + lines[at]
    return "\n".join(lines)


def _odd(chance: random.Random, text: str, _: str) -> str:
    at = chance.randrange(len(text) + 1)
    return text[:at] + chance.choice(ODD) + text[at:]


def _deep(chance: random.Random, text: str, _: str) -> str:
    many = chance.choice((3, 60, 3000))
    new = chance.choice(("[" * many, "[" * many + "]" * many, "{a: " * many + "}" * many))
    return _put(text, _spot(chance, VALUE, text), new)


def _bomb(chance: random.Random, text: str, _: str) -> str:
    rows = "".join(f"b{i}: &b{i} [{', '.join([f'*b{i - 1}'] * 9)}]\n" for i in range(1, 8))
    return f"b0: &b0 [x]\n{rows}{text}" if chance.random() < 0.1 else text


DAMAGE = (_value, _value, _value, _key, _key, _character, _cut, _line, _line, _odd, _deep, _bomb)


def mutated(chance: random.Random, text: str, other: str) -> str:
    """A file with one to six pieces of damage."""
    for _ in range(chance.choice((1, 1, 1, 2, 3, 6))):
        text = chance.choice(DAMAGE)(chance, text, other)
    return text


def recipe(text: str, path: Path) -> None:
    load_recipe(path, text)


def machine(text: str, path: Path) -> None:
    _declared(Machine, text, path)


def filament(text: str, path: Path) -> None:
    _declared(Filament, text, path)


def values(text: str, _: Path) -> None:
    label_designs(LABEL, read_values(text, "values.csv"), Path("label.svg"))


LABEL = Recipe(
    recipe=1,
    text=(TextRule(element="#a", column="plant"), TextRule(element="#b", serial=Serial())),
    names_from="file",
)
VALUES = 'file,plant,note\nshade,fern,\nsun,"moth, small",2 m\nwet,seed-head,x\n' * 3


def _declared(cls: type, text: str, path: Path) -> None:
    _, complaints = read_declared(cls, parse_yaml(text, str(path)))
    if complaints:
        raise UserError(complaints)


def reader_of(_: Path, text: str) -> Callable:
    """Which reader a file is meant for."""
    for key, reader in (("machine: 1", machine), ("filament: 1", filament)):
        if text.startswith(key) or f"\n{key}\n" in text:
            return reader
    return recipe


def failure(reader, text: str, path: Path) -> str:
    """What went wrong, as one line; empty when the reader answered as it should."""
    try:
        with at_most(SLOW_S):
            reader(text, path)
    except UserError as error:
        return _unclear(error)
    except TooLongError:
        return f"over {SLOW_S} s"
    except BaseException as error:  # noqa: BLE001 - a crash is what is looked for
        frame = traceback.extract_tb(error.__traceback__)[-1]
        where = f"{Path(frame.filename).name}:{frame.lineno}"
        return f"{type(error).__name__} in {where}: {error}"[:300]
    return ""


def _unclear(error: UserError) -> str:
    if not error.complaints:
        return "an error without complaints"
    for complaint in error.complaints:
        if "\n" in str(complaint):
            return f"a complaint of several lines: {str(complaint)!r}"[:300]
        if complaint.place is None:
            return f"a complaint without a place: {complaint}"[:300]
    return ""


def parser_of(doc: str) -> argparse.ArgumentParser:
    """What a run is told."""
    parser = argparse.ArgumentParser(description=doc.splitlines()[0])
    parser.add_argument("seconds", type=float)
    parser.add_argument("seed", type=int)
    parser.add_argument("--inputs", type=int, default=10**9)
    parser.add_argument("--keep", type=Path)
    return parser


def fuzz(args: argparse.Namespace, files: Files, reader_of: Callable, damage=mutated) -> int:
    """Damage files by chance and read them; say what failed. 1 if anything did."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    warnings.simplefilter("error")
    chance, found, done = random.Random(args.seed), Counter(), Counter()
    stop = time.monotonic() + args.seconds
    while done.total() < args.inputs and time.monotonic() < stop:
        path, text = chance.choice(files)
        reader = reader_of(path, text)
        text = damage(chance, text, chance.choice(files)[1])
        done[reader.__name__] += 1
        wrong = failure(reader, text, path)
        kind = wrong.split(": ")[0]
        if wrong and not found[kind]:
            _report(wrong, kind, text, args.keep)
        found[kind] += bool(wrong)
    read = ", ".join(f"{count} {name}" for name, count in sorted(done.items()))
    print(f"{done.total()} inputs ({read}), seed {args.seed}: {found.total()} failures")
    for kind, count in found.most_common():
        print(f"{count:6} {kind}" if count else "", end="\n" if count else "")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory {peak:.0f} MiB")
    return int(found.total() > 0)


def _report(wrong: str, kind: str, text: str, keep: Path | None) -> None:
    print(wrong, flush=True)
    if keep:
        keep.mkdir(parents=True, exist_ok=True)
        name = re.sub(r"\W+", "-", kind)[:60]
        (keep / f"{name}.yaml").write_text(text, "utf-8", "surrogatepass")


def main(arguments: list[str]) -> int:
    parser = parser_of(__doc__)
    parser.add_argument("--values", action="store_true", help="tables of values instead")
    args = parser.parse_args(arguments)
    if args.values:
        return fuzz(args, [(Path("values.csv"), VALUES)], lambda *_: values)
    paths = sorted(FIXTURES.rglob("*.yaml"))
    return fuzz(args, [(path, path.read_text("utf-8", "replace")) for path in paths], reader_of)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
