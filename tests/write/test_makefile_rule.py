"""Names of files as make itself reads them."""

from __future__ import annotations

import os
import re
import shutil
import string
import subprocess
from pathlib import Path

import pytest

from preprocess.errors import UserError
from preprocess.write.makefile_rule import makefile_rule

NAMES = [
    "fern label.svg", "fern#1.svg", "5$ fern.svg", "$(fern).svg", "50%fern.svg", "c:fern.svg",
    "fern;moth.svg", "size=3.svg", "a:=b.svg", "fern|moth.svg", "fern\tmoth.svg", "fern\\moth.svg",
    "fern\\ moth.svg", "fern\\#moth.svg", "fern\\\\:moth.svg", "fern\\;moth",
    "fern\\%.svg", "fern\\|a.svg", "fern\\=a.svg", "fern\\$a.svg", "a&b.svg", "fern&", "fern*.svg",
    "fern?.svg", "fern[1].svg", "~fern.svg", " fern", "'fern'.svg", '"fern".svg', "(fern",
    "@fern.svg", "-fern.svg", "fern,moth.svg", "{fern}.svg", "Farn ä ü.svg", "\tfern", "include",
    "include fern", "define", "export x", "fern\\\t.svg", "%", ":", "=", ";", "#", "$",
    "x" + re.sub(r"[/(*?\[]", "", string.punctuation),
]  # fmt: skip


@pytest.fixture
def bed(tmp_path):
    if shutil.which("make") is None:
        pytest.skip("there is no make on this machine")
    (tmp_path / "made").mkdir()
    return tmp_path


def make(bed: Path, *more: str) -> str:
    """What make does for the goal; it must not complain."""
    done = subprocess.run(
        ["make", "-s", *more], cwd=bed, capture_output=True, text=True, errors="replace", check=True
    )
    return done.stdout


def lay_out(bed: Path, name: bytes, recipe: str = "echo made") -> Path:
    path = Path(os.fsdecode(os.fsencode(bed) + b"/" + name))
    path.write_text("fern")
    (bed / "made" / "l.svg").write_text("old")
    (bed / "Makefile").write_text(f"all: made/l.svg\nmade/l.svg:\n\t@{recipe}\ninclude d.mk\n")
    (bed / "d.mk").write_bytes(makefile_rule("made/l.svg", [Path(os.fsdecode(name)), None]))
    return path


def check_input(bed: Path, name: bytes) -> None:
    path = lay_out(bed, name)
    os.utime(bed / "made" / "l.svg", (1e9, 1e9))
    os.utime(path, (2e9, 2e9))
    assert make(bed) == "made\n", "a newer input makes it anew"
    os.utime(path, (1e8, 1e8))
    assert make(bed) == "", "an older one leaves it"
    path.unlink()
    assert make(bed) == "made\n", "one that is gone does not stop make"


@pytest.mark.parametrize("name", NAMES)
def test_an_input_of_this_name(bed, name):
    check_input(bed, name.encode())


def test_an_input_whose_name_is_no_text(bed):
    check_input(bed, b"fern\xff.svg")


@pytest.mark.parametrize("name", [name for name in NAMES if not set(name) & set("*?[")])
def test_an_output_of_this_name(bed, name):
    """What make calls the target is what it hands to the recipe, and finds as a file."""
    (bed / "fern.svg").write_text("fern")
    (bed / "d.mk").write_bytes(makefile_rule(name, [Path("fern.svg")]))
    (bed / "Makefile").write_text("include d.mk\n")
    said = subprocess.run(
        ["make", "-npq"], cwd=bed, capture_output=True, text=True, check=False
    ).stdout
    shown = name.removeprefix("./")
    assert f"\n{shown}: fern.svg\n" in said


@pytest.mark.parametrize(
    "name", ["z=1\nall:;touch owned", "fern\r.svg", "fern\0", "lib(fern)", "fern\\", "fern "]
)
def test_what_make_cannot_read_is_refused_by_name(name):
    for target, inputs in ((name, []), ("l.svg", [Path(name)])):
        with pytest.raises(UserError, match="rename it, or leave --depfile out") as caught:
            makefile_rule(target, inputs)
        assert str(caught.value).startswith(name)


@pytest.mark.parametrize("name", ["fern*.svg", "fern?.svg", "fern[1].svg"])
def test_an_output_that_stands_for_several_is_refused(name):
    with pytest.raises(UserError, match="stands for several files to make; rename it"):
        makefile_rule(name, [])


def test_an_input_with_brackets_is_not_its_neighbour(bed):
    """`fern[1].svg` means `fern1.svg` to make, unless it is written otherwise."""
    (bed / "fern1.svg").write_text("another")
    os.utime(bed / "fern1.svg", (2.1e9, 2.1e9))
    check_input(bed, b"fern[1].svg")


def test_nothing_is_smuggled_in(bed):
    """Each name that is written stays a name: make runs no command of it."""
    for name in ("x;touch owned", "$(shell touch owned).svg", "`touch owned`", "y:\\;touch owned"):
        lay_out(bed, name.encode())
        make(bed)
        assert not (bed / "owned").exists()
