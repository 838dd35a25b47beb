"""Exit codes, and what a person sees when something goes wrong."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from preprocess import __version__
from preprocess.cli import app
from preprocess.errors import Complaint, Place, UserError
from tests.cli.inside import evenmark

BAD = "recipe: 1\nmachine: {name: bench, spot: 60}\ncolour: {}\n"


@pytest.fixture
def command(monkeypatch, capsys):
    """Runs the command in this process; gives exit code, standard output, standard error."""

    def run(*arguments):
        return evenmark(monkeypatch, capsys, *arguments)

    return run


def failing(monkeypatch, error):
    def raise_it(**_):
        raise error

    monkeypatch.setattr(app, "app", raise_it)


def test_version_goes_to_standard_output(command):
    assert command("--version") == (0, f"evenmark {__version__}\n", "")


def test_help_names_every_command_and_the_cautions(command):
    code, out, _ = command("--help")
    assert code == 0
    for name in ("run", "check", "compare", "passes", "schema"):
        assert re.search(rf"^  {name} ", out, re.MULTILINE)
    for caution in ("extraction", "chlorinated", "eyewear", "interlocked", "unattended", "card"):
        assert caution in out


@pytest.mark.parametrize(
    "arguments", [["frob"], ["run"], ["check", "--nope"], ["compare", "a.svg"], []]
)
def test_wrong_usage_is_2(command, arguments):
    code, _, err = command(*arguments)
    assert code == 2
    assert "Traceback" not in err


def test_each_complaint_is_one_line_and_1(command, tmp_path):
    recipe = tmp_path / "r.yaml"
    recipe.write_text(BAD)
    code, out, err = command("check", str(recipe))
    assert (code, out) == (1, "")
    first, second = err.splitlines()
    assert first == (f"error: {recipe}:2:30: spot: 60 has no unit; write for example 60 mm")
    assert second == f"error: {recipe}:3:1: unknown key 'colour'; did you mean colours?"


def test_complaints_as_json_lines(command, tmp_path):
    recipe = tmp_path / "r.yaml"
    recipe.write_text(BAD)
    code, out, err = command("check", str(recipe), "--json")
    assert (code, err) == (1, "")
    first, second = map(json.loads, out.splitlines())
    assert first["kind"] == second["kind"] == "error"
    assert (second["file"], second["line"], second["column"]) == (str(recipe), 3, 1)
    assert second["remedy"] == "did you mean colours?"


def test_our_own_bug_is_3_and_says_where_the_report_lies(command, monkeypatch):
    failing(monkeypatch, ZeroDivisionError("the very bug"))
    code, out, err = command("run", "fern.yaml")
    assert (code, out) == (3, "")
    assert "bug in evenmark" in err
    assert "Traceback" not in err
    report = Path(err.split()[-1])
    text = report.read_text("utf-8")
    report.unlink()
    assert "ZeroDivisionError: the very bug" in text
    assert "fern.yaml" in text
    assert __version__ in text


def test_a_report_that_cannot_be_written_is_said_instead(command, monkeypatch):
    failing(monkeypatch, ZeroDivisionError("the very bug"))
    monkeypatch.setattr(app.tempfile, "NamedTemporaryFile", lambda *_, **__: open("/no/where"))  # noqa: SIM115, PTH123
    code, _, err = command("run", "fern.yaml")
    assert code == 3
    assert "the very bug" in err


def test_interrupted_is_130(command, monkeypatch):
    failing(monkeypatch, KeyboardInterrupt())
    said = "interrupted: nothing was written, and older files are as they were\n"
    assert command("run", "fern.yaml") == (130, "", said)
    code, out, err = command("run", "fern.yaml", "--json")
    assert (code, err) == (130, "")
    assert json.loads(out) == {"kind": "interrupted", "message": said.strip()}


def test_interrupted_inside_a_command_is_130_too(command, monkeypatch):
    def interrupted():
        raise KeyboardInterrupt

    monkeypatch.setattr("preprocess.engine.registry.pass_names", interrupted)
    assert command("passes")[0] == 130


def test_text_from_files_cannot_steer_the_terminal(command, monkeypatch):
    found = "label \x1b[2J\x07 \u202e \x9b31m\nerror: forged"
    failing(monkeypatch, UserError(Complaint(found, place=Place("a\x1b]0;x\x07.svg"))))
    code, _, err = command("check", "r.yaml")
    assert code == 1
    assert len(err.splitlines()) == 1
    assert not {c for c in err if not c.isprintable() and c != "\n"}
    assert r"\x1b[2J" in err


def run_command(*arguments, **environment):
    return subprocess.run(
        [sys.executable, "-m", "preprocess", *arguments],
        capture_output=True,
        text=True,
        encoding="utf-8",
        errors="surrogateescape",
        check=False,
        env={"PATH": "/usr/bin:/bin", **environment},
    )


def test_python_m_is_the_same_command():
    done = run_command("--version")
    assert (done.returncode, done.stdout) == (0, f"evenmark {__version__}\n")


def test_schema_is_the_same_bytes_in_every_locale():
    outputs = {
        run_command("schema", PYTHONIOENCODING=encoding, PYTHONHASHSEED=seed).stdout
        for encoding, seed in (("utf-8", "1"), ("ascii", "2"), ("latin-1", "3"))
    }
    [text] = outputs
    assert json.loads(text)["title"] == "evenmark recipe"


def test_a_locale_that_lacks_a_character_is_no_bug():
    done = run_command("passes", "no-such-päss", PYTHONIOENCODING="ascii")
    assert done.returncode == 1
    assert "no-such-p" in done.stderr
    assert run_command("passes", PYTHONIOENCODING="ascii").returncode == 0


def test_a_reader_that_goes_away_is_no_bug():
    done = subprocess.run(
        ["/bin/sh", "-c", f"{sys.executable} -m preprocess schema | head -c 1"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout == "{"
    assert "bug" not in done.stderr


HEAVY = {"shapely", "numpy", "scipy", "lxml", "pathops", "pyclipper"}


@pytest.mark.parametrize(
    "arguments",
    [["--help"], ["--version"], ["run", "--help"], ["frob"], ["passes"], ["passes", "merg"]],
)
def test_what_needs_no_geometry_imports_none(arguments):
    code = (
        "import sys\n"
        "from preprocess.cli.app import main\n"
        f"sys.argv = ['evenmark', *{arguments!r}]\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print('MODULES', *sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    names = done.stdout.rpartition("MODULES")[2].split()
    assert "preprocess.cli.app" in names
    assert not {name.split(".")[0] for name in names} & HEAVY
