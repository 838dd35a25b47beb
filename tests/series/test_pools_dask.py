"""The same series on a Dask cluster: the same bytes, and a worker that dies loses nothing."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

import pytest

from preprocess.errors import UserError
from preprocess.series import pools
from tests.series.beds import bed, tree
from tests.series.test_runner import evenmark

pytest.importorskip("distributed", reason="the extra dask is not installed")
MANY = 50


@contextmanager
def cluster(folder: Path):
    """A scheduler and two workers on loopback; gives its address and the workers' processes."""
    file = folder / "scheduler.json"
    dask = [sys.executable, "-m", "dask"]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": str(folder)}
    environment = {**os.environ, "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "3"}
    command = [*dask, "scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard"]
    started = [
        subprocess.Popen([*command, "--scheduler-file", str(file)], env=environment, **quiet)
    ]
    try:
        while not file.exists():
            assert started[0].poll() is None
            time.sleep(0.1)
        worker = [*dask, "worker", "--scheduler-file", str(file), "--nthreads", "1", "--no-nanny"]
        started += [
            subprocess.Popen([*worker, "--no-dashboard"], env=environment, **quiet)
            for _ in range(2)
        ]
        yield json.loads(file.read_text())["address"], started[1:]
    finally:
        for process in reversed(started):
            process.kill()
            process.wait()


def test_a_cluster_writes_the_same_bytes_and_survives_a_dead_worker(tmp_path, monkeypatch):
    monkeypatch.chdir(bed(tmp_path, MANY))
    Path("by-processes").mkdir()
    series = ["series", "label.yaml", "drawings/*.svg", "--no-heat", "--overlay", "--report"]
    assert evenmark(*series, "-d", "by-processes").returncode == 0
    with cluster(tmp_path) as (address, workers):
        command = [*series, "-d", "out", "--executor", "dask", "--scheduler", address]
        with subprocess.Popen(
            [sys.executable, "-m", "preprocess", *command], stderr=subprocess.PIPE, text=True
        ) as running:
            while len(list(Path("out").glob("*.laser.svg"))) < 3:
                assert running.poll() is None
                time.sleep(0.02)
            workers[0].send_signal(signal.SIGKILL)
            _, told = running.communicate(timeout=120)
    assert running.returncode == 0, told
    assert f"{MANY} done, 0 unchanged, 0 failed" in told
    assert tree(Path("out")) == tree(Path("by-processes"))


def test_no_scheduler_there():
    with pytest.raises(UserError, match="no Dask scheduler answers"):
        pools.dask_pool("tcp://127.0.0.1:9")


def test_dask_needs_an_address_and_processes_take_none(tmp_path, monkeypatch):
    monkeypatch.chdir(bed(tmp_path, 1))
    series = ["series", "label.yaml", "drawings/*.svg", "-d", "out"]
    assert evenmark(*series, "--executor", "dask").returncode == 2
    assert evenmark(*series, "--scheduler", "tcp://127.0.0.1:9").returncode == 2
