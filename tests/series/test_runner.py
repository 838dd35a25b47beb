"""A series: each design by itself, nothing made twice, nothing lost, whoever does the work."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from preprocess.cli.files import load_recipe_alone
from preprocess.errors import UserError
from preprocess.pipeline import convert
from preprocess.series import keys, pools, runner, tasks
from preprocess.series.designs import find_designs
from preprocess.series.log import read_log
from preprocess.series.runner import Series, run_series
from preprocess.series.tasks import Products, TaskResult
from tests.series.beds import RECIPE, bed, leaf, tree
from tests.sessions import counts_processes, expect_nobody, members

HEEDFUL = """
import signal
signal.signal(signal.SIGINT, signal.default_int_handler)  # shells let background jobs ignore it
from preprocess.cli.app import main
main()
"""


@pytest.fixture
def label(tmp_path, monkeypatch):
    """A folder with four drawings, and we are in it."""
    monkeypatch.chdir(bed(tmp_path))
    return tmp_path


def series(**more) -> Series:
    return Series(
        loaded=load_recipe_alone("label.yaml"),
        designs=find_designs(["drawings/*.svg"]),
        wants=Products(heat=False),
        folder=Path("out"),
        **more,
    )


def one_by_one(designs):
    """A pool that works in this process."""
    return ((number, tasks.run_task(task)) for number, task in designs)


def states(entries) -> dict[str, str]:
    return {entry.design.removesuffix(".svg"): entry.status for entry in entries}


def evenmark(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "preprocess", *arguments],
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.usefixtures("label")
def test_each_output_is_that_of_a_run_of_its_own():
    entries = list(run_series(series(), one_by_one))
    assert set(states(entries).values()) == {"done"}
    loaded = load_recipe_alone("label.yaml")
    for path in sorted(Path("drawings").iterdir()):
        alone = convert(loaded, path.read_bytes(), str(path))
        assert Path(f"out/{path.stem}.laser.svg").read_bytes() == alone.data


@pytest.mark.usefixtures("label")
def test_what_has_not_changed_is_left_alone():
    list(run_series(series(), one_by_one))
    before = {path: path.stat().st_mtime_ns for path in Path("out").glob("*.svg")}
    assert set(states(run_series(series(), one_by_one)).values()) == {"unchanged"}
    assert {path: path.stat().st_mtime_ns for path in Path("out").glob("*.svg")} == before
    assert set(states(run_series(series(again=True), one_by_one)).values()) == {"done"}


@pytest.mark.parametrize(
    ("change", "anew"),
    [
        (lambda: Path("drawings/leaf-01.svg").write_text(leaf(20)), {"leaf-01"}),
        (lambda: Path("out/leaf-02.laser.svg").write_text("spoilt"), {"leaf-02"}),
        (lambda: Path("out/leaf-03.laser.svg").unlink(), {"leaf-03"}),
        (lambda: Path("out/series.jsonl").unlink(), "all"),
        (lambda: Path("label.yaml").write_text(RECIPE.replace("50 %", "51 %")), "all"),
        (
            lambda: Path("bench.yaml").write_text(
                Path("bench.yaml").read_text().replace("1 ms", "2 ms")
            ),
            "all",
        ),
    ],
    ids=["drawing", "spoilt output", "lost output", "lost log", "recipe", "machine"],
)
@pytest.mark.usefixtures("label")
def test_what_has_changed_is_made_anew(change, anew):
    list(run_series(series(), one_by_one))
    change()
    after = states(run_series(series(), one_by_one))
    all_of_them = set(after)
    assert {name for name, state in after.items() if state == "done"} == (
        all_of_them if anew == "all" else anew
    )


@pytest.mark.usefixtures("label")
def test_another_version_or_wish_makes_all_anew(monkeypatch):
    list(run_series(series(), one_by_one))
    wished = replace(series(), wants=Products(heat=False, report=True))
    assert set(states(run_series(wished, one_by_one)).values()) == {"done"}
    monkeypatch.setattr(keys, "__version__", "0.0.other")
    assert set(states(run_series(wished, one_by_one)).values()) == {"done"}


@pytest.mark.usefixtures("label")
def test_one_bad_file_stops_no_other_and_keeps_its_old_output():
    list(run_series(series(), one_by_one))
    good = Path("out/leaf-01.laser.svg").read_bytes()
    Path("drawings/leaf-01.svg").write_text("<svg", "utf-8")
    Path("drawings/leaf-04.svg").write_text(leaf(9.5), "utf-8")
    entries = {entry.design: entry for entry in run_series(series(), one_by_one)}
    assert states(entries.values()) == {
        "leaf-00": "unchanged",
        "leaf-01": "failed",
        "leaf-02": "unchanged",
        "leaf-03": "unchanged",
        "leaf-04": "done",
    }
    assert "drawings/leaf-01.svg:1" in entries["leaf-01.svg"].problems[0]
    assert Path("out/leaf-01.laser.svg").read_bytes() == good


@pytest.mark.usefixtures("label")
def test_a_bug_in_one_design_is_told_and_stops_no_other(monkeypatch):
    def fault(task):
        if "02" in task.path:
            raise ZeroDivisionError
        return TaskResult(outputs={"laser.svg": b"x"})

    monkeypatch.setattr(tasks, "_made", fault)
    entries = {entry.design: entry for entry in run_series(series(), one_by_one)}
    assert entries["leaf-02.svg"].problems == (
        "this is a bug in evenmark, not in the drawing: ZeroDivisionError",
    )
    assert "Traceback" in entries["leaf-02.svg"].bug
    assert list(states(entries.values()).values()).count("done") == 3


@pytest.mark.usefixtures("label")
def test_a_drawing_that_vanished_is_one_failure():
    wanted = series()
    Path("drawings/leaf-00.svg").unlink()
    entries = {entry.design: entry for entry in run_series(wanted, one_by_one)}
    assert "there is no such file" in entries["leaf-00.svg"].problems[0]
    assert states(entries.values())["leaf-01"] == "done"


def test_the_log_has_a_line_for_each_design_in_order_and_no_clock(label):
    list(run_series(series(), one_by_one))
    lines = [json.loads(line) for line in Path("out/series.jsonl").read_text().splitlines()]
    assert [line["design"] for line in lines] == [f"leaf-{n:02}.svg" for n in range(4)]
    assert lines[0]["outputs"].keys() == {"leaf-00.laser.svg"}
    first = tree(label / "out")
    list(run_series(series(again=True), one_by_one))
    assert tree(label / "out") == first


@pytest.mark.usefixtures("label")
def test_a_log_that_was_cut_off_costs_only_its_last_line():
    list(run_series(series(), one_by_one))
    log = Path("out/series.jsonl")
    log.write_bytes(log.read_bytes()[:-30])
    after = states(run_series(series(), one_by_one))
    assert after == {
        "leaf-00": "unchanged",
        "leaf-01": "unchanged",
        "leaf-02": "unchanged",
        "leaf-03": "done",
    }


@pytest.mark.usefixtures("label")
def test_what_was_done_before_a_stop_is_not_made_again():
    going = run_series(series(), one_by_one)
    next(going)
    next(going)
    going.close()
    assert sorted(read_log(Path("out"))) == ["leaf-00.svg", "leaf-01.svg"]
    assert list(states(run_series(series(), one_by_one)).values()).count("unchanged") == 2


@pytest.mark.parametrize(
    ("named", "words"),
    [
        (["drawings"], "this is a folder, not a drawing"),
        (["drawings/moth-*.svg"], "no file fits this pattern"),
        (["drawings/leaf-00.svg", "twins/LEAF-00.svg"], "would be called like those of"),
    ],
)
@pytest.mark.usefixtures("label")
def test_names_that_cannot_be_a_series(named, words):
    Path("twins").mkdir()
    Path("twins/LEAF-00.svg").write_text(leaf(9), "utf-8")
    with pytest.raises(UserError, match=words):
        find_designs(named)


@pytest.mark.usefixtures("label")
def test_patterns_are_sorted_and_nothing_is_taken_twice():
    found = find_designs(["drawings/leaf-02.svg", "drawings/*.svg"])
    assert [design.name for design in found] == ["leaf-02", "leaf-00", "leaf-01", "leaf-03"]


@pytest.mark.usefixtures("label")
def test_outputs_never_overwrite_a_drawing():
    Path("out/leaf.laser.svg").write_text(leaf(9), "utf-8")
    Path("out/leaf.svg").write_text(leaf(9), "utf-8")
    wanted = replace(series(), designs=find_designs(["out/leaf.svg", "out/leaf.laser.svg"]))
    with pytest.raises(UserError, match="overwrite the input"):
        list(run_series(wanted, one_by_one))


@pytest.mark.usefixtures("label")
def test_a_missing_folder_is_made():
    new = Path("of-the-year/labels")
    assert states(run_series(replace(series(), folder=new), one_by_one))
    assert len(list(new.glob("*.laser.svg"))) == 4
    with pytest.raises(UserError, match=r"cannot write here \(not a directory\)"):
        list(run_series(replace(series(), folder=Path("label.yaml/x")), one_by_one))


@pytest.mark.usefixtures("label")
def test_a_smaller_series_keeps_the_record_of_the_others():
    list(run_series(series(), one_by_one))
    Path("drawings/leaf-01.svg").write_text(leaf(11), "utf-8")
    few = replace(series(), designs=find_designs(["drawings/leaf-01.svg"]))
    assert states(run_series(few, one_by_one)) == {"leaf-01": "done"}
    assert list(read_log(Path("out"))) == [f"leaf-0{n}.svg" for n in (1, 0, 2, 3)]
    assert set(states(run_series(series(), one_by_one)).values()) == {"unchanged"}
    assert list(read_log(Path("out"))) == [f"leaf-0{n}.svg" for n in range(4)]


@pytest.mark.parametrize("many", [50, 500])
def test_each_name_is_looked_at_once(label, monkeypatch, many):
    """Calls of the system are counted, for inputs and for outputs that lie there already."""
    looked = []
    does = Path.stat
    for number in range(many):
        (label / "drawings" / f"seed-{number}.svg").write_text("<svg/>")
        (label / "out" / f"seed-{number}.laser.svg").write_text("old")
    wanted = replace(series(), designs=find_designs(["drawings/seed-*.svg"]))

    def counted(path, **more):
        looked.append(path)
        return does(path, **more)

    monkeypatch.setattr(Path, "stat", counted)
    runner._prepare(wanted)
    assert len(looked) <= 2 * many + 50


KILLED = """
import sys, time
from pathlib import Path
from preprocess.series import pools

def sleep(task):
    Path(f"worker-{task}").touch()
    time.sleep(60)

if __name__ == "__main__":
    pools.run_task = sleep
    list(pools.process_pool(2)(enumerate("ab")))
"""


@counts_processes
@pytest.mark.usefixtures("label")
def test_workers_end_with_a_parent_that_is_killed():
    """All that it started is in its session: at the end nobody is left, tracker included."""
    Path("series_of_two.py").write_text(KILLED)
    parent = subprocess.Popen(
        [sys.executable, "series_of_two.py"],
        stderr=subprocess.PIPE,
        start_new_session=True,
    )
    while not (Path("worker-a").exists() and Path("worker-b").exists()):
        time.sleep(0.05)
        assert parent.poll() is None, parent.communicate()
    group = parent.pid
    assert len(members(group)) >= 3
    parent.kill()
    _, said = parent.communicate()
    assert said == b""
    expect_nobody(group)


def test_the_command_with_processes(label):
    Path("drawings/leaf-03.svg").write_text("<svg", "utf-8")
    done = evenmark("series", "label.yaml", "drawings/*.svg", "-d", "out", "--workers", "2")
    assert done.returncode == 1
    assert "error: leaf-03.svg: drawings/leaf-03.svg:1" in done.stderr
    assert "3 done, 0 unchanged, 1 failed; log: out/series.jsonl" in done.stderr
    assert "Traceback" not in done.stderr
    assert [line.split()[:2] for line in done.stdout.splitlines()[1:]] == [
        ["leaf-00.svg", "done"],
        ["leaf-01.svg", "done"],
        ["leaf-02.svg", "done"],
        ["leaf-03.svg", "failed"],
    ]
    by_processes = tree(label / "out")
    list(run_series(replace(series(again=True), wants=Products()), one_by_one))
    assert tree(label / "out") == by_processes


def die(task):
    """A worker that is killed by one drawing, as when memory runs out."""
    if "leaf-01" in task.path:
        os.kill(os.getpid(), signal.SIGKILL)
    return TaskResult(outputs={"laser.svg": task.title.encode()})


@pytest.mark.usefixtures("label")
def test_a_worker_that_dies_loses_only_its_design(monkeypatch):
    monkeypatch.setattr(pools, "run_task", die)
    entries = {entry.design: entry for entry in run_series(series(), pools.process_pool(2))}
    assert states(entries.values()) == {
        "leaf-00": "done",
        "leaf-01": "failed",
        "leaf-02": "done",
        "leaf-03": "done",
    }
    assert "the worker died" in entries["leaf-01.svg"].problems[0]


@pytest.mark.usefixtures("label")
def test_an_interrupt_leaves_whole_files_and_code_130():
    for number in range(4, 400):  # more than are made while a busy machine looks elsewhere
        Path(f"drawings/leaf-{number:03}.svg").write_text(leaf(8 + number / 20), "utf-8")
    command = [sys.executable, "-c", HEEDFUL, "series", "label.yaml", "drawings/*.svg"]
    with subprocess.Popen(
        [*command, "-d", "out", "--workers", "1"],
        stderr=subprocess.PIPE,
        stdout=subprocess.PIPE,
        start_new_session=True,
    ) as process:
        while not list(Path("out").glob("*.laser.svg")):
            assert process.poll() is None
            time.sleep(0.05)
        os.killpg(process.pid, signal.SIGINT)
        _, told = process.communicate(timeout=60)
    assert process.returncode == 130, told.decode()
    assert b"Traceback" not in told
    done = list(Path("out").glob("*.laser.svg"))
    assert 0 < len(done) < 400
    assert all(path.read_bytes().endswith(b"</svg>\n") for path in done)
    assert not list(Path("out").glob(".*.part"))
    assert len(read_log(Path("out"))) >= 1
