"""Runs follow saves, one at a time; workers that die or hang are told and replaced."""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

import pytest

from preprocess.watch.messages import View
from tests.sessions import counts_processes, is_alive
from tests.watch.fakes import desk

pytestmark = counts_processes


@pytest.fixture(scope="module")
def at(tmp_path_factory):
    """One desk for the story of the tests below: each worker costs a second of a busy core."""
    path = tmp_path_factory.mktemp("bench") / "fern.yaml"
    path.with_name("moss.yaml").write_text("filament: 1\n")
    with desk(path, f"also {path.with_name('moss.yaml')}") as made:
        made.done(1)
        yield made


def test_a_saved_profile_runs_the_job_again(at):
    run = at.hub.state.run
    os.utime(at.path.with_name("moss.yaml"), ns=(1, 1))
    assert at.done(run + 1).saved == ("moss.yaml",)


def test_a_mistake_keeps_the_old_picture_and_an_atomic_replace_mends_it(at):
    run, shown = at.hub.state.run, at.shown()
    at.save("mistake")
    state = at.done(run + 1)
    assert state.mistakes == ((f"{at.path}:23:21", "by is 'widht'; write width"),)
    assert (state.pictures[View.CHANGES].run, at.shown()) == (run, shown)

    new = at.path.with_name("new")
    new.write_text("whole again")
    new.replace(at.path)
    state = at.done(run + 2)
    assert (state.mistakes, at.shown()) == ((), "whole again")


def test_a_save_during_a_run_cancels_it(at):
    run = at.hub.state.run
    at.save("hang")
    at.until(lambda state: state.run == run + 1 and state.title == "hanging")
    (cancelled,) = at.supervisor.workers
    at.save("saved during a run")
    at.done(run + 2)
    assert at.shown() == "saved during a run"
    assert not is_alive(cancelled)


def test_a_worker_that_dies_is_told_and_replaced(at):
    run, shown = at.hub.state.run, at.shown()
    at.save("die")
    state = at.done(run + 1)
    assert state.failure.startswith("The worker died before the end of the run (exit code 9)")
    assert at.shown() == shown
    at.save("well")
    state = at.done(run + 2)
    assert (state.failure, at.shown()) == ("", "well")


def test_a_spare_worker_that_is_gone_costs_no_run(at):
    run = at.hub.state.run
    os.kill(spare(at), signal.SIGKILL)
    at.save("once more")
    at.done(run + 1)
    assert (at.shown(), at.hub.state.failure) == ("once more", "")


def test_no_worker_is_left_behind(tmp_path):
    with desk(tmp_path / "fern.yaml", "once") as at:
        at.done(1)
        left = spare(at)
        assert is_alive(left)
    assert not is_alive(left)
    assert at.began == 1


def spare(at) -> int:
    """The number of the worker that waits for the next run, not of the one that has done it."""
    while at.supervisor._spare is None or at.supervisor._spare.number is None:
        at.hub.wait(10**9, 0.01)
    return at.supervisor._spare.number


def test_a_worker_that_hangs_is_stopped_told_and_replaced(tmp_path):
    with desk(tmp_path / "fern.yaml", "hang", patience=0.2) as at:
        at.until(lambda state: state.run == 1)
        (hung,) = at.supervisor.workers
        state = at.until(lambda state: bool(state.failure))
        assert state.failure == (
            "The run told nothing for 0.2 s and was stopped. "
            "evenmark run takes as long as a job needs."
        )
    assert not is_alive(hung)
    assert at.supervisor.workers != (hung,)


@pytest.mark.skipif(sys.platform == "win32", reason="signals are others there")
def test_an_interrupt_does_not_reach_a_worker(tmp_path):
    with desk(tmp_path / "fern.yaml", "once") as at:
        starting = spare(at)
        masked = _mask(starting, "SigBlk") | _mask(starting, "SigIgn")
        assert masked & (1 << (signal.SIGINT - 1))
        at.done(1)


def _mask(number: int, name: str) -> int:
    lines = Path(f"/proc/{number}/status").read_text().splitlines()
    return int(next(line.split()[1] for line in lines if line.startswith(f"{name}:")), 16)
