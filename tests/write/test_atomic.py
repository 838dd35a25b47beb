from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from preprocess.errors import UserError
from preprocess.write.atomic import replace_file
from preprocess.write.targets import refuse_same


@pytest.fixture
def old(tmp_path):
    path = tmp_path / "fern.laser.svg"
    path.write_bytes(b"old")
    return path


def test_a_new_file(tmp_path):
    replace_file(tmp_path / "new.svg", b"new")
    assert (tmp_path / "new.svg").read_bytes() == b"new"
    assert [p.name for p in tmp_path.iterdir()] == ["new.svg"]


def test_a_new_file_has_the_rights_of_any_new_file(tmp_path):
    plain = tmp_path / "plain"
    plain.touch()
    replace_file(tmp_path / "new.svg", b"")
    assert (tmp_path / "new.svg").stat().st_mode == plain.stat().st_mode


def test_an_old_file_is_replaced_and_keeps_its_rights(old):
    old.chmod(0o640)
    replace_file(old, b"new")
    assert old.read_bytes() == b"new"
    assert stat.S_IMODE(old.stat().st_mode) == 0o640


def test_a_link_keeps_pointing(tmp_path, old):
    link = tmp_path / "link.svg"
    link.symlink_to(old)
    replace_file(link, b"new")
    assert link.is_symlink()
    assert old.read_bytes() == b"new"


def test_a_relative_name_in_this_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    replace_file(Path("x.svg"), b"new")
    assert Path("x.svg").read_bytes() == b"new"


def test_a_very_long_name(tmp_path):
    path = tmp_path / ("x" * 250 + ".svg")
    replace_file(path, b"new")
    assert path.read_bytes() == b"new"


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="no terminals there")
def test_a_device_is_written_to():
    """A terminal of its own: a fault would put a file in the place of a device that is shared."""
    near, far = os.openpty()
    path = Path(os.ttyname(far))
    try:
        replace_file(path, b"new")
        assert stat.S_ISCHR(path.stat().st_mode)
        assert os.read(near, 9) == b"new"
    finally:
        os.close(near)
        os.close(far)


def test_a_missing_folder(tmp_path):
    with pytest.raises(UserError) as caught:
        replace_file(tmp_path / "none" / "x.svg", b"new")
    text = str(caught.value)
    assert text.startswith(str(tmp_path / "none" / "x.svg"))
    assert "there is no folder" in text
    assert not (tmp_path / "none").exists()


def test_a_folder(tmp_path):
    with pytest.raises(UserError, match="this is a folder, not a file; give a file name"):
        replace_file(tmp_path, b"new")


def test_a_folder_that_is_a_file(old):
    with pytest.raises(UserError, match="there is no folder"):
        replace_file(old / "x.svg", b"new")


def test_a_name_that_is_too_long(tmp_path):
    with pytest.raises(UserError, match="cannot write here"):
        replace_file(tmp_path / ("x" * 300), b"new")


@pytest.mark.parametrize("step", ["fsync", "replace"])
@pytest.mark.parametrize(
    ("error", "says"),
    [
        (PermissionError(13, "Permission denied"), "permission denied\\); get the right"),
        (OSError(28, "No space left on device"), "no space left on device\\); free the disk"),
    ],
)
def test_a_failure_leaves_the_old_file_whole(old, monkeypatch, step, error, says):
    def fail(*_):
        raise error

    monkeypatch.setattr(os if step == "fsync" else Path, step, fail)
    with pytest.raises(UserError, match=says):
        replace_file(old, b"new")
    assert old.read_bytes() == b"old"
    assert [p.name for p in old.parent.iterdir()] == [old.name]


def test_an_interruption_leaves_the_old_file_whole(old, monkeypatch):
    def interrupt(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        replace_file(old, b"new")
    assert old.read_bytes() == b"old"
    assert [p.name for p in old.parent.iterdir()] == [old.name]


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_read_only_folder(old):
    old.parent.chmod(0o555)
    try:
        with pytest.raises(UserError, match="get the right to write"):
            replace_file(old, b"new")
    finally:
        old.parent.chmod(0o755)
    assert old.read_bytes() == b"old"


def test_the_input_is_never_the_output(tmp_path, old):
    soft, hard = tmp_path / "soft.svg", tmp_path / "hard.svg"
    soft.symlink_to(old)
    hard.hardlink_to(old)
    for path in (old, soft, hard, tmp_path / "." / old.name, tmp_path / "x" / ".." / old.name):
        with pytest.raises(UserError, match="the output would overwrite the input"):
            refuse_same(path, tmp_path / "recipe.yaml", old)


def test_another_file_is_no_input(tmp_path, old):
    copy = tmp_path / "copy.svg"
    refuse_same(copy, old)
    copy.write_bytes(b"old")
    refuse_same(copy, old)
    refuse_same(old)


def test_names_that_do_not_exist_yet_are_compared_too(tmp_path):
    with pytest.raises(UserError):
        refuse_same(tmp_path / "a" / ".." / "new.svg", tmp_path / "new.svg")
