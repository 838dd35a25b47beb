"""Killed at any moment, out of space, on another disk, two at once: the old file or the new."""

from __future__ import annotations

import os
import random
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from preprocess.write.atomic import replace_file

OLD, NEW = b"old" * 300_000, b"new!" * 300_000
AGAIN_AND_AGAIN = """
import sys
from pathlib import Path
from preprocess.write.atomic import replace_file
old, new = b"old" * 300_000, b"new!" * 300_000
print("ready", flush=True)
while True:
    for data in (new, old):
        replace_file(Path(sys.argv[1]), data)
"""


def writer(path: Path) -> subprocess.Popen[bytes]:
    """A process that replaces a file without end, once it has begun."""
    process = subprocess.Popen(
        [sys.executable, "-c", AGAIN_AND_AGAIN, str(path)], stdout=subprocess.PIPE
    )
    assert process.stdout is not None
    assert process.stdout.readline() == b"ready\n"
    return process


def end(process: subprocess.Popen[bytes]) -> None:
    process.kill()
    process.communicate()


@pytest.mark.parametrize("seed", range(20))
def test_killed_at_any_moment(tmp_path, seed):
    path = tmp_path / "label.laser.svg"
    path.write_bytes(OLD)
    process = writer(path)
    time.sleep(random.Random(seed).uniform(0, 0.03))
    process.send_signal(signal.SIGKILL)
    end(process)
    assert path.read_bytes() in {OLD, NEW}
    replace_file(path, NEW)
    assert path.read_bytes() == NEW


def test_two_runs_that_write_one_output(tmp_path):
    path = tmp_path / "label.laser.svg"
    path.write_bytes(OLD)
    both = [writer(path), writer(path)]
    try:
        for _ in range(200):
            assert path.read_bytes() in {OLD, NEW}
            assert all(process.poll() is None for process in both)
    finally:
        for process in both:
            end(process)


def test_a_disk_that_fills_up(tmp_path):
    """A limit on the size of files stands in for the disk; the error is one of the system's own."""
    (tmp_path / "label.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">'
        + "".join(
            f'<circle cx="{x}" cy="{y}" r="0.4"/>' for x in range(1, 20) for y in range(1, 20)
        )
        + "</svg>"
    )
    (tmp_path / "label.yaml").write_text("recipe: 1\ndesign: label.svg\n")
    out = tmp_path / "label.laser.svg"
    out.write_bytes(OLD)

    def little_room() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))

    done = subprocess.run(
        [sys.executable, "-B", "-m", "preprocess", "run", "label.yaml", "--no-heat", "--quiet"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
        preexec_fn=little_room,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1, done.stderr
    assert done.stderr == (
        "error: label.laser.svg: cannot write here (file too large); "
        "free the disk, or write somewhere else\n"
    )
    assert out.read_bytes() == OLD
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "label.laser.svg",
        "label.svg",
        "label.yaml",
    ]


def test_an_output_on_another_disk(tmp_path):
    other = Path("/dev/shm")
    if not other.is_dir() or other.stat().st_dev == tmp_path.stat().st_dev:
        pytest.skip("this machine has no second disk in memory")
    target = other / f"evenmark-{os.getpid()}.svg"
    link = tmp_path / "label.laser.svg"
    link.symlink_to(target)
    try:
        target.write_bytes(OLD)
        replace_file(link, NEW)
        assert link.is_symlink()
        assert target.read_bytes() == NEW
    finally:
        target.unlink(missing_ok=True)
