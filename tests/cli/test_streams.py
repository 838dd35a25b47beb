"""Closed, full and endless streams and odd names: exit 1 and one sentence, never a traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from preprocess.cli.app import main
from tests.cli.test_run_outputs import LABEL, RECIPE

FULL = Path("/dev/full")
RUN = ("run", "fern.yaml", "--no-heat")


@pytest.fixture
def bed(tmp_path):
    (tmp_path / "fern.svg").write_text(LABEL, "utf-8")
    (tmp_path / "fern.yaml").write_text(RECIPE, "utf-8")
    return tmp_path


def evenmark(bed: Path, *arguments, redirect: str = "") -> subprocess.CompletedProcess[str]:
    """Run in a shell, whose redirections close or fill a stream."""
    return subprocess.run(
        ["sh", "-c", f'exec "$@" {redirect}', "sh", sys.executable, "-m", "preprocess", *arguments],
        cwd=bed,
        capture_output=True,
        text=True,
        errors="surrogateescape",
        check=False,
    )


def expect_one_sentence(done, *words: str, on: str = "stderr") -> None:
    told = [line for line in getattr(done, on).splitlines() if not line.startswith("note: ")]
    assert done.returncode == 1, done
    assert len(told) == 1, told
    assert told[0].startswith("error: ")
    for word in words:
        assert word in told[0]


@pytest.mark.skipif(not FULL.exists(), reason="no such device there")
@pytest.mark.parametrize(
    "arguments",
    [
        ("passes",),
        ("schema",),
        ("--help",),
        (*RUN, "-o", "-", "--report", "r.json"),
    ],
)
def test_standard_output_on_a_full_disk(bed, arguments):
    done = evenmark(bed, *arguments, redirect=">/dev/full")
    expect_one_sentence(done, "standard output cannot be written (no space left on device)")
    assert not (bed / "r.json").exists()


def test_standard_output_that_is_closed(bed):
    done = evenmark(bed, *RUN, "-o", "-", redirect=">&-")
    expect_one_sentence(done, "standard output cannot be written (bad file descriptor)")


@pytest.mark.parametrize("redirect", ["2>&-", "2>/dev/full"])
def test_messages_that_cannot_be_told_are_missed_aloud(bed, redirect):
    if "full" in redirect and not FULL.exists():
        pytest.skip("no such device there")
    done = evenmark(bed, *RUN, redirect=redirect)
    expect_one_sentence(done, "standard error cannot be written", on="stdout")
    done = evenmark(bed, "run", "none.yaml", redirect=redirect)
    assert done.returncode == 1
    assert "there is no such file" in done.stdout
    assert "standard error cannot be written" in done.stdout


def test_all_streams_closed_are_no_place_for_outputs(bed):
    done = evenmark(bed, *RUN, "--quiet", "--report", "r.json", redirect="<&- >&- 2>&-")
    assert done.returncode == 0
    assert (bed / "fern.laser.svg").read_bytes().endswith(b"</svg>\n")


def test_a_reader_who_leaves_is_no_fault(bed):
    done = evenmark(bed, "passes", redirect="| true")
    assert done.stderr == ""


ODD = b"Farn \xff.svg"


@pytest.mark.parametrize("papers", [("--report", "r.json"), ("--sheet", "s"), ("--overlay", "o")])
def test_a_name_that_is_no_text(bed, papers):
    (bed / os.fsdecode(ODD)).write_text(LABEL)
    done = evenmark(bed, *RUN[:2], ODD, *RUN[2:], *papers)
    expect_one_sentence(done, "the name of this drawing is no UTF-8 text", "rename it")
    assert evenmark(bed, *RUN[:2], ODD, *RUN[2:]).returncode == 0, "the SVG does not hold it"


def test_a_name_that_is_no_text_in_a_series(bed):
    (bed / os.fsdecode(ODD)).write_text(LABEL)
    (bed / "out").mkdir()
    done = evenmark(
        bed, "series", "fern.yaml", "fern.svg", ODD, "-d", "out", "--no-heat", "--report", "--quiet"
    )
    expect_one_sentence(done, "the name of this drawing is no UTF-8 text")
    assert (bed / "out" / "fern.report.json").exists()


def test_links_in_a_circle(bed):
    (bed / "loop.svg").symlink_to("loop.svg")
    done = evenmark(bed, *RUN[:2], "loop.svg")
    expect_one_sentence(done, "loop.svg", "symbolic links", "check the path")
    done = evenmark(bed, *RUN, "-o", "loop.svg")
    expect_one_sentence(done, "loop.svg", "symbolic links", "mend the link")


def test_a_zero_byte_in_a_path(bed):
    (bed / "fern.yaml").write_text(RECIPE.replace("fern.svg", '"fern\\0.svg"'), "utf-8")
    expect_one_sentence(evenmark(bed, *RUN), "the drawing cannot be read (embedded null byte)")


@pytest.mark.parametrize("name", ["/dev/zero", "sparse.svg", "-"])
def test_a_drawing_without_end(bed, name):
    """A file is not opened for reading when its size forbids it; a device is read to the limit."""
    (bed / "fern.yaml").write_text(RECIPE + "limits: {file: 2 MiB}\n", "utf-8")
    with (bed / "sparse.svg").open("wb") as file:
        file.truncate(3 * 2**30)
    redirect = "</dev/zero" if name == "-" else ""
    done = evenmark(bed, *RUN[:2], name, *RUN[2:], "-o", "l.svg", redirect=redirect)
    has = "3072 MiB" if name == "sparse.svg" else "more"
    expect_one_sentence(done, f"the file has {has}, and 2 MiB are allowed", "raise limits: file")


def test_a_recipe_without_end(bed):
    done = evenmark(bed, "run", "-", "fern.svg", redirect="</dev/zero")
    expect_one_sentence(done, "the recipe is over 1 MB")


def test_a_library_that_warns_is_not_heard(bed, monkeypatch, capfd):
    """With the filter that people have; the tests' own turns warnings into errors."""
    import warnings

    from preprocess.cli import files

    does = files.convert_drawing

    def warned(*arguments, **named):
        warnings.warn("invalid value encountered in reduce", RuntimeWarning, stacklevel=2)
        return does(*arguments, **named)

    monkeypatch.setattr(files, "convert_drawing", warned)
    monkeypatch.setattr(sys, "warnoptions", [])
    monkeypatch.chdir(bed)
    monkeypatch.setattr(sys, "argv", ["evenmark", *RUN])
    with pytest.raises(SystemExit) as left:
        main()
    assert (left.value.code or 0) == 0
    assert "reduce" not in capfd.readouterr().err
