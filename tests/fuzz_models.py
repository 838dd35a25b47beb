"""Damaged models, read and seen as parts: python -m tests.fuzz_models N SEED.

Each is a small sound file with bytes or XML changed, cut, doubled or swapped. An answer is a part
or one sentence; warnings count as failures. Memory is limited to 2 GiB, time to 10 s of processor.
"""

from __future__ import annotations

import io
import random
import resource
import sys
import tempfile
import time
import warnings
import zipfile
from collections import Counter
from pathlib import Path

from preprocess.errors import UserError
from preprocess.model.bench.part import Part, Up
from preprocess.read.mesh.mesh_file import read_mesh
from preprocess.read.part.part_relief import part_model
from tests.read.mesh.mesh_files import (
    RELATIONSHIPS,
    binary,
    box,
    document,
    item,
    mesh,
    package,
    solid,
    text,
)
from tests.read.part.parts import RIBBED

_TURN = "0 1 0 -1 0 0 0 0 1 5 5 0"
_MODEL = document(
    solid(1, mesh(RIBBED), "plate")
    + solid(2, f'<components><component objectid="1" transform="{_TURN}"/></components>')
    + solid(3, mesh(box(0, 0, 0, 5, 5, 5)), "prop", "support"),
    item(2) + item(3) + item(1, "1 0 0 0 1 0 0 0 1 80 0 0", 'printable="1"'),
)
_WORDS = [
    *("nan", "inf", "-1", "0", "1e308", "-1e-320", "99999999999999999999", "1e5", "", " "),
    *("\0", "é", "&amp;", "&x;", "<", ">", '"', "1,5", "0x10", "1_0", "١"),
    *('objectid="1"', 'objectid="2"', "<vertex/>", "<triangle/>", "<object>", "</mesh>"),
    *("<!DOCTYPE a>", "<![CDATA[", "inch", "micron", 'transform="1 2 3"', "<components>"),
]
_WHOLE = [b"\xff\xff\xff\xff", b"\0\0\0\0", b"\0\0\xc0\x7f", b"\0\0\x80\x7f", b"\xff\xff\x7f\x7f"]
_MOST_SECONDS, _MOST_BYTES = 10.0, 2 * 2**30


def _changed(data: bytes, dice: random.Random, words: list[bytes]) -> bytes:
    """A file with one to four changes."""
    held = bytearray(data)
    for _ in range(dice.randint(1, 4)):
        at = dice.randrange(len(held) + 1)
        match dice.randrange(7):
            case 0:
                held[at : at + 1] = bytes([dice.randrange(256)])
            case 1:
                del held[at : at + dice.choice([1, 2, 4, 50, 200])]
            case 2:
                held[at:at] = dice.choice(words)
            case 3:
                word = dice.choice(words)
                held[at : at + len(word)] = word
            case 4:
                held = held[:at]
            case 5:
                stretch = held[at : at + dice.choice([4, 50, 300])]
                held[at:at] = stretch * dice.choice([1, 2, 20])
            case _:
                other = dice.randrange(len(held) + 1)
                held[at : at + 20], held[other : other + 20] = (
                    held[other : other + 20],
                    held[at : at + 20],
                )
    return bytes(held)


def _zipped(model: bytes) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("_rels/.rels", RELATIONSHIPS)
        archive.writestr("3D/label.model", model)
    return held.getvalue()


def damaged(dice: random.Random) -> tuple[str, bytes]:
    """One damaged file, and what it was."""
    words = [word.encode() for word in _WORDS]
    kind = dice.choice(["binary", "text", "xml", "xml", "package"])
    if kind == "binary":
        return kind, _changed(binary(RIBBED), dice, _WHOLE)
    if kind == "text":
        return kind, _changed(text(RIBBED), dice, words)
    if kind == "xml":
        return kind, _zipped(_changed(_MODEL.encode(), dice, words))
    return kind, _changed(package(_MODEL), dice, _WHOLE)


def answer(data: bytes, up: Up) -> str:
    """Part or sentence: what came of a file.

    Raises:
        AssertionError: the sentence names no file, or the answer took too long.
    """
    begun = time.process_time()
    try:
        part_model(read_mesh(data, "label.3mf"), Part(model="label.3mf", up=up), None, "label.3mf")
        found = "part"
    except UserError as error:
        (complaint,) = error.complaints
        assert str(complaint).startswith("label.3mf")
        assert complaint.remedy
        found = "sentence"
    assert time.process_time() - begun < _MOST_SECONDS
    return found


def main(count: int, seed: int) -> None:
    """Feed so many files, and print what came of them."""
    warnings.simplefilter("error")
    resource.setrlimit(resource.RLIMIT_AS, (_MOST_BYTES, _MOST_BYTES))
    dice = random.Random(seed)
    found: Counter[tuple[str, str]] = Counter()
    for number in range(count):
        kind, data = damaged(dice)
        up = dice.choice([*Up, Up.Z, Up.Z, Up.Z])
        try:
            found[kind, answer(data, up)] += 1
        except Exception as error:  # noqa: BLE001 - whatever escapes is what is looked for
            found[kind, "FAILURE"] += 1
            print(f"{number} {kind} {up}: {type(error).__name__}: {error}"[:300])
            Path(tempfile.gettempdir(), f"model-{seed}-{number}.bin").write_bytes(data)
    for key, times in sorted(found.items()):
        print(*key, times)
    print("most memory:", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024, "MiB")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
