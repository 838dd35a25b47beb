"""The command as people start and end it: address, saves, Ctrl-C, and nobody left behind."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import urllib.request
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.cli.inside import evenmark
from tests.sessions import counts_processes, expect_members, expect_nobody

if TYPE_CHECKING:
    from collections.abc import Iterator

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm" viewBox="0 0 30 20">
  <path id="blade" d="M3 10 Q10 3 24 9 Q12 14 3 10 Z"/>
</svg>
"""
RECIPE = """recipe: 1
design: label.svg
machine: bench.yaml
settings: {engrave: {power: 30 %, speed: 900 mm/s, pitch: 0.4 mm}}
passes: [merge]
"""
MACHINE = "machine: 1\nname: bench galvo\nfield: [60 mm, 60 mm]\n"


@pytest.fixture
def bench(tmp_path, monkeypatch):
    (tmp_path / "label.svg").write_text(DRAWING)
    (tmp_path / "label.yaml").write_text(RECIPE)
    (tmp_path / "bench.yaml").write_text(MACHINE)
    (tmp_path / "empty").mkdir()
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TMPDIR", str(tmp_path / "empty"))
    return tmp_path


@contextmanager
def started(*arguments: str, stderr: int = subprocess.PIPE) -> Iterator[subprocess.Popen]:
    """The command in a session of its own, where all that it starts can be counted.

    It never outlives a test that fails.
    """
    with subprocess.Popen(
        [sys.executable, "-B", "-m", "preprocess", "watch", *arguments],
        stdout=subprocess.PIPE,
        stderr=stderr,
        text=True,
        start_new_session=True,
    ) as command:
        try:
            yield command
        except BaseException:
            command.kill()
            raise


def states(address: str):
    with urllib.request.urlopen(f"{address}states") as answer:
        for line in answer:
            if line.startswith(b"data: "):
                yield json.loads(line.removeprefix(b"data: "))


def files(folder: Path) -> dict[str, bytes | None]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() if path.is_file() else None
        for path in folder.rglob("*")
    }


@counts_processes
def test_saves_are_followed_nothing_is_written_and_an_interrupt_leaves_nobody(bench):
    before = files(bench)
    with started("label.yaml", "--no-heat") as command:
        address = command.stdout.readline().strip()
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/[\w-]{32}/", address)
        heard = states(address)
        state = next(one for one in heard if one["run"] and not one["busy"])
        assert (state["title"], state["mistakes"]) == ("label.svg", [])
        changes = state["pictures"]["changes"]["address"]
        assert b"<svg" in urllib.request.urlopen(address + changes).read()

        Path("bench.yaml").write_text(MACHINE.replace("field", "feild"))  # read by the run alone
        state = next(one for one in heard if one["run"] == 2 and not one["busy"])
        (mistake,) = state["mistakes"]
        assert mistake["place"] == "bench.yaml:3:1"
        assert state["pictures"]["changes"]["run"] == 1
        Path("bench.yaml").write_text(MACHINE)
        state = next(one for one in heard if one["run"] == 3 and not one["busy"])
        assert (state["mistakes"], state["pictures"]["changes"]["run"]) == ([], 3)

        command.send_signal(signal.SIGINT)
        heard.close()
        rest, said = command.communicate()
    assert (command.returncode, rest, said) == (0, "", "")
    expect_nobody(command.pid)
    assert files(bench) == before


@counts_processes
@pytest.mark.usefixtures("bench")
def test_a_terminal_is_told_each_run_in_a_line():
    import pty

    Path("label.yaml").write_text(RECIPE.replace("merge", "mereg"))
    ours, theirs = pty.openpty()
    with started("label.yaml", stderr=theirs) as command, os.fdopen(ours) as terminal:
        os.close(theirs)
        told = [terminal.readline().strip() for _ in range(3)]
        command.send_signal(signal.SIGTERM)
        command.communicate()
    assert told[:2] == [
        "open this address in a browser on this machine; Ctrl-C ends it",
        "run 1 begins",
    ]
    assert re.sub(r"\x1b\[[\d;]*m", "", told[2]).startswith("error: label.yaml:5:10: ")
    assert command.returncode == 0
    expect_nobody(command.pid)


@counts_processes
@pytest.mark.usefixtures("bench")
def test_who_is_killed_leaves_nobody():
    with started("label.svg", "--json") as command:
        told = json.loads(command.stdout.readline())
        assert told["kind"] == "page"
        assert json.loads(command.stdout.readline())["run"] == 1
        expect_members(command.pid, 3)
        command.kill()
        command.communicate()
    expect_nobody(command.pid)


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        ((), 2, "name a drawing or a recipe, such as fern.svg or fern.yaml"),
        (("gone.yaml",), 1, "gone.yaml: there is no such file"),
        (("label.yaml", "gone.svg"), 1, "gone.svg: there is no such file"),
        (("-",), 1, "a pipe cannot be watched; name a file"),
        (("label.yaml", "-"), 1, "a pipe cannot be watched; name a file"),
        (("label.yaml", "--port", "80"), 2, "--port: name one from 1024 to 65535"),
    ],
)
@pytest.mark.usefixtures("bench")
def test_what_cannot_be_watched_is_told_at_once(monkeypatch, capsys, arguments, code, said):
    done = evenmark(monkeypatch, capsys, "watch", *arguments)
    assert (done.code, done.out) == (code, "")
    assert said in done.err
