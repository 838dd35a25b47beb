"""Feed the reader damaged drawings, and ask for an answer in words every time.

usage: python -m tests.fuzz_read FOLDER SECONDS SEED [--inputs N] [--keep OUT] [--largest BYTES]

Drawings of the folder are damaged at random: bytes, numbers, attributes and elements are changed,
repeated, exchanged with those of other drawings, or left out. The reader must come back with
artwork or with a UserError, within 10 s of processor time and 3 GiB. Whatever else happens is
kept, in its smallest form that was found, under OUT. The same folder and seed give the same
inputs.
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

from preprocess.errors import UserError
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read
from tests.processor_time import TooLongError, at_most

SLOW_S = 10
MOST_MEMORY = 3 * 2**30
SHRINK_S = 20
NUMBER = re.compile(rb"[+-]?(?:\d*\.\d+|\d+)(?:[eE][+-]?\d+)?")
ATTRIBUTE = re.compile(rb'\s[\w:-]+="[^"]*"')
ELEMENT = re.compile(rb"<[\w:]+[^<>]*/>|<(\w+)[^<>]*>[^<>]*</\1>")
VALUE = re.compile(rb'(?<==")[^"]*(?=")')
ODD = (
    b"0", b"-0", b"-1", b"1e9", b"1e-9", b"1e400", b"-1e400", b"nan", b"inf", b".", b"1.", b"+",
    b"9" * 400, b"1e38", b"-1e38", b"100%", b"1em", b"0.5px", b"1vw", b"none", b"inherit", b"auto",
    b"url(#a)", b"url(", b"var(--a)", b"", b" ", b"\xff", b"\x00", b"&lt;", b"evenodd", b"hidden",
)  # fmt: skip


def mutated(chance: random.Random, data: bytes, other: bytes) -> bytes:
    """A drawing with one to six pieces of damage."""
    for _ in range(chance.choice((1, 1, 1, 2, 3, 6))):
        data = chance.choice(DAMAGE)(chance, data, other)
    return data


def _spot(chance: random.Random, pattern: re.Pattern, data: bytes) -> re.Match | None:
    begin = chance.randrange(len(data) + 1)
    return pattern.search(data, begin) or pattern.search(data)


def _put(data: bytes, match: re.Match | None, text: bytes) -> bytes:
    return data if match is None else data[: match.start()] + text + data[match.end() :]


def _byte(chance: random.Random, data: bytes, _: bytes) -> bytes:
    at = chance.randrange(len(data) + 1)
    return data[:at] + bytes((chance.randrange(256),)) + data[at + chance.randrange(2) :]


def _cut(chance: random.Random, data: bytes, _: bytes) -> bytes:
    at = chance.randrange(len(data) + 1)
    return data[:at] + data[at + chance.choice((1, 4, 30, 300)) :]


def _end(chance: random.Random, data: bytes, _: bytes) -> bytes:
    return data[: chance.randrange(len(data) + 1)]


def _number(chance: random.Random, data: bytes, _: bytes) -> bytes:
    return _put(data, _spot(chance, NUMBER, data), chance.choice(ODD))


def _scaled(chance: random.Random, data: bytes, _: bytes) -> bytes:
    match = _spot(chance, NUMBER, data)
    factor = chance.choice((-1, 0, 1e-6, 1e-3, 0.5, 2, 1e3, 1e6, 1e12))
    return data if match is None else _put(data, match, b"%g" % (float(match[0]) * factor))


def _value(chance: random.Random, data: bytes, other: bytes) -> bytes:
    source = _spot(chance, VALUE, other)
    return _put(data, _spot(chance, VALUE, data), source[0] if source else chance.choice(ODD))


def _attribute(chance: random.Random, data: bytes, other: bytes) -> bytes:
    source = _spot(chance, ATTRIBUTE, chance.choice((data, other)))
    return _put(data, _spot(chance, ATTRIBUTE, data), source[0] if source else b"")


def _element(chance: random.Random, data: bytes, other: bytes) -> bytes:
    match, source = _spot(chance, ELEMENT, data), _spot(chance, ELEMENT, other)
    parts = (b"", match[0] * 2 if match else b"", source[0] if source else b"")
    return _put(data, match, chance.choice(parts))


def _nested(chance: random.Random, data: bytes, _: bytes) -> bytes:
    match = _spot(chance, ELEMENT, data)
    if match is None:
        return data
    tag = chance.choice((b"g", b"svg", b"defs", b"clipPath", b"mask", b"pattern", b"marker", b"a"))
    name = chance.choice((b"a", b"b", b"c"))
    return _put(data, match, b'<%s id="%s">%s</%s>' % (tag, name, match[0], tag))


def _reference(chance: random.Random, data: bytes, _: bytes) -> bytes:
    names = re.findall(rb'\bid="([^"]*)"', data) or [b"a"]
    name, kind = chance.choice(names), chance.choice(REFERENCES)
    spot = _spot(chance, re.compile(rb"(?<=\w)(?=\s*/?>)"), data)
    return _put(data, spot, kind % name)


REFERENCES = (
    b' clip-path="url(#%s)"',
    b' mask="url(#%s)"',
    b' fill="url(#%s)"',
    b' stroke="url(#%s)"',
    b' marker-mid="url(#%s)"',
    b' href="#%s"',
    b' filter="url(#%s)"',
)
DAMAGE = (
    _byte, _cut, _end, _number, _number, _scaled, _value, _value, _attribute, _element, _nested,
    _reference,
)  # fmt: skip


def failure(data: bytes) -> str:
    """What went wrong, as one line; empty when the reader answered in words."""
    try:
        with at_most(SLOW_S):
            read(data, "damaged.svg", ReadingOptions())
    except UserError:
        return ""
    except TooLongError:
        return f"over {SLOW_S} s"
    except BaseException as error:  # noqa: BLE001 - a crash is what is looked for
        frame = traceback.extract_tb(error.__traceback__)[-1]
        return f"{type(error).__name__} in {Path(frame.filename).name}:{frame.lineno}: {error}"[
            :200
        ]
    return ""


def shrunk(data: bytes, kind: str) -> bytes:
    """A smaller input that fails in the same place: pieces are left out while it does."""
    stop, size = time.monotonic() + SHRINK_S, len(data) // 2
    while size and time.monotonic() < stop:
        at = 0
        while at < len(data) and time.monotonic() < stop:
            shorter = data[:at] + data[at + size :]
            if failure(shorter).split(": ")[0] == kind:
                data = shorter
            else:
                at += size
        size //= 2
    return data


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("seconds", type=float)
    parser.add_argument("seed", type=int)
    parser.add_argument("--inputs", type=int, default=10**9)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--largest", type=int, default=20_000)
    args = parser.parse_args(arguments)
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    warnings.simplefilter("error")
    files = [file.read_bytes() for file in sorted(args.folder.rglob("*.svg"))]
    files = [data for data in files if len(data) <= args.largest]
    chance, found, done = random.Random(args.seed), Counter(), 0
    stop = time.monotonic() + args.seconds
    while done < args.inputs and time.monotonic() < stop:
        data = mutated(chance, chance.choice(files), chance.choice(files))
        done += 1
        wrong = failure(data)
        kind = wrong.split(": ")[0]
        if wrong and not found[kind]:
            _report(wrong, kind, data, args.keep)
        found[kind] += bool(wrong)
    print(f"{done} inputs from {len(files)} drawings, seed {args.seed}: {found.total()} failures")
    for kind, count in found.most_common():
        print(f"{count:6} {kind}" if count else "", end="\n" if count else "")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory {peak:.0f} MiB")
    return int(found.total() > 0)


def _report(wrong: str, kind: str, data: bytes, keep: Path | None) -> None:
    small = shrunk(data, kind)
    print(f"{wrong}\n  {small[:300]!r}", flush=True)
    if keep:
        keep.mkdir(parents=True, exist_ok=True)
        name = re.sub(r"\W+", "-", kind)[:60]
        (keep / f"{name}.svg").write_bytes(small)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
