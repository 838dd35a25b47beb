"""Several outputs: whatever step fails, all are as they were, or all are new."""

from __future__ import annotations

import os
import shutil
import signal
from itertools import count
from pathlib import Path

import pytest

from preprocess.errors import UserError
from preprocess.write import atomic
from preprocess.write.atomic import replace_files, staged_files
from preprocess.write.targets import check_targets

NAMES = ("fern.laser.svg", "fern.overlay.svg", "fern.sheet.html", "fern.report.json")
STEPS = {
    "mkstemp": (atomic.tempfile, "mkstemp"),
    "fdopen": (os, "fdopen"),
    "fsync": (os, "fsync"),
    "chmod": (Path, "chmod"),
    "link": (os, "link"),
    "copy": (shutil, "copy2"),
    "rename": (Path, "replace"),
}


def old(name: str) -> bytes:
    return f"old {name}".encode()


def new(name: str) -> bytes:
    return f"new {name}".encode()


@pytest.fixture(autouse=True, params=["apart", "here"])
def renaming(request, monkeypatch):
    """With another process that renames, and where the system has no fork."""
    if request.param == "here":
        monkeypatch.delattr(os, "fork")
    return request.param


@pytest.fixture(params=[4, 3, 0], ids=["all old", "one new", "all new"])
def bed(tmp_path, request):
    """A folder where so many of the four outputs lie already."""
    for name in NAMES[-request.param :] if request.param else ():
        (tmp_path / name).write_bytes(old(name))
    return tmp_path


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def fail_at(monkeypatch, step: str, number: int, error: BaseException) -> list[int]:
    """Let the step fail when it is done for that time; returns how often it was done."""
    place, name = STEPS[step]
    does, done = getattr(place, name), [0]

    def sometimes(*arguments, **named):
        done[0] += 1
        if done[0] == number:
            raise error
        return does(*arguments, **named)

    monkeypatch.setattr(place, name, sometimes)
    return done


def outcomes(monkeypatch, bed: Path, step: str, error: BaseException) -> int:
    """Fail at the first, second … time until all goes well; how often it failed."""
    before, whole = contents(bed), {name: new(name) for name in NAMES}
    for number in count(1):
        with monkeypatch.context() as patch:
            done = fail_at(patch, step, number, error)
            try:
                replace_files((bed / name, new(name)) for name in NAMES)
            except UserError:
                assert contents(bed) == before, (step, number)
                continue
            except KeyboardInterrupt:
                assert contents(bed) in (before, whole), (step, number)
            else:
                assert contents(bed) == whole
                if done[0] < number or number > len(NAMES) or step == "link":
                    return number - 1
        for name in NAMES:
            (bed / name).unlink(missing_ok=True)
        for name, data in before.items():
            (bed / name).write_bytes(data)
    raise AssertionError


@pytest.mark.parametrize("step", [step for step in STEPS if step != "copy"])
def test_a_step_fails_at_any_of_the_outputs(monkeypatch, bed, step):
    """A link that fails becomes a copy; the folder's own fsync is a favour of the system."""
    times = outcomes(monkeypatch, bed, step, OSError(28, "No space left on device"))
    assert times == (0 if step == "link" else 4)


def test_a_disk_without_links_keeps_copies(monkeypatch, bed):
    def never(*_, **__):
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(os, "link", never)
    assert outcomes(monkeypatch, bed, "rename", OSError(5, "Input/output error")) == 4
    for name in NAMES:
        (bed / name).write_bytes(old(name))
    assert outcomes(monkeypatch, bed, "copy", OSError(28, "No space left on device")) == 4


def test_interrupted_at_any_of_the_outputs(monkeypatch, bed):
    assert outcomes(monkeypatch, bed, "fsync", KeyboardInterrupt()) >= 4


def test_the_laser_svg_comes_last(monkeypatch, tmp_path):
    """The other process is seen by what it leaves: the names so far, in a file."""
    seen, does = tmp_path / "seen", Path.replace

    def noted(part: Path, target: Path):
        with seen.open("a") as file:
            file.write(f"{target.name}\n")
        return does(part, target)

    monkeypatch.setattr(Path, "replace", noted)
    replace_files((tmp_path / name, new(name)) for name in NAMES)
    assert seen.read_text().split() == list(reversed(NAMES))


def test_who_renames_is_killed(monkeypatch, bed, renaming):
    if renaming == "here":
        pytest.skip("nobody else renames")
    before, here, does = contents(bed), os.getpid(), Path.replace

    def killed(part: Path, target: Path):
        if os.getpid() != here and target.name == NAMES[1]:
            os.kill(os.getpid(), signal.SIGKILL)
        return does(part, target)

    monkeypatch.setattr(Path, "replace", killed)
    with pytest.raises(UserError, match="cannot write here"):
        replace_files((bed / name, new(name)) for name in NAMES)
    assert contents(bed) == before


def test_nothing_is_seen_before_all_lies_ready(bed):
    before = contents(bed)
    with staged_files((bed / name, new(name)) for name in NAMES) as put_in_place:
        assert {name: (bed / name).read_bytes() for name in before} == before
        assert len([path for path in bed.iterdir() if path.suffix == ".part"]) == 4
        put_in_place()
    assert contents(bed) == {name: new(name) for name in NAMES}


def test_who_asked_for_the_renames_is_killed(monkeypatch, bed, renaming):
    """Killed between two renames, by the process that does them."""
    if renaming == "here":
        pytest.skip("nobody else renames")
    does = Path.replace
    reading, writing = os.pipe()
    run = os.fork()
    if run == 0:

        def killing(part: Path, target: Path):
            if target.name == NAMES[1]:
                os.kill(run_itself, signal.SIGKILL)
            return does(part, target)

        run_itself = os.getpid()
        monkeypatch.setattr(Path, "replace", killing)
        replace_files((bed / name, new(name)) for name in NAMES)
        os._exit(0)
    os.close(writing)
    assert os.WTERMSIG(os.waitpid(run, 0)[1]) == signal.SIGKILL
    assert os.read(reading, 1) == b"", "both have ended"
    os.close(reading)
    assert {name: (bed / name).read_bytes() for name in NAMES} == {n: new(n) for n in NAMES}


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_among_the_renames_waits_for_the_last(monkeypatch, bed, number):
    does, here = Path.replace, os.getpid()

    def disturbed(part: Path, target: Path):
        os.kill(here, number)
        return does(part, target)

    def end(*_):
        raise InterruptedError

    before = signal.signal(number, end)
    monkeypatch.setattr(Path, "replace", disturbed)
    try:
        with pytest.raises(InterruptedError):
            replace_files((bed / name, new(name)) for name in NAMES)
    finally:
        signal.signal(number, before)
    assert contents(bed) == {name: new(name) for name in NAMES}


def test_targets_are_told_before_any_work(tmp_path):
    good, twin = tmp_path / "fern.laser.svg", tmp_path / "x" / ".." / "fern.laser.svg"
    (tmp_path / "x").mkdir()
    loop = tmp_path / "loop.svg"
    loop.symlink_to(loop)
    bad = {
        tmp_path / "none" / "r.json": "there is no folder",
        tmp_path / "x": "this is a folder, not a file",
        loop: r"cannot write here \(too many levels of symbolic links\); mend the link",
        tmp_path / "zero\0byte": "cannot write here",
        twin: "would be written twice; give each output a name of its own",
    }
    for path, says in bad.items():
        with pytest.raises(UserError, match=says):
            check_targets([good, path])
    with pytest.raises(UserError, match="would overwrite the input"):
        check_targets([good], [twin])
    check_targets([good], [tmp_path / "fern.svg"])


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_without_the_right_to_write_is_told_before_any_work(tmp_path):
    tmp_path.chmod(0o555)
    try:
        with pytest.raises(UserError, match="permission denied"):
            check_targets([tmp_path / "fern.laser.svg"])
    finally:
        tmp_path.chmod(0o755)
