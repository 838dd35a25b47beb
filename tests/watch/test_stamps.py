"""Saves are noticed by stamps alone, and told once when the files rest. Times are given."""

from __future__ import annotations

import os

import pytest

from preprocess.watch.stamps import REST, WatchedFiles, stamp_of, stamps_of


@pytest.fixture
def recipe(tmp_path):
    path = tmp_path / "fern.yaml"
    path.write_text("recipe: 1\n")
    return path


def test_nothing_is_told_while_nothing_is_saved(recipe):
    files = WatchedFiles([recipe])
    assert [files.saved(now) for now in (0.0, 1.0, 2.0)] == [(), (), ()]


def test_ten_saves_in_half_a_second_are_told_once(recipe):
    files, told = WatchedFiles([recipe]), []
    for number in range(10):
        recipe.write_text(f"recipe: 1\n#{'x' * number}\n")
        told.append(files.saved(0.05 * number))
    assert told == [()] * 10
    assert files.saved(0.45 + 0.9 * REST) == ()
    assert files.saved(0.45 + 1.1 * REST) == (str(recipe),)
    assert files.saved(5.0) == ()


def change(path):
    path.write_text("recipe: 1\nname: fern\n")


def same_size_and_time(path):
    """An editor puts another file in its place; only its number differs."""
    known = path.stat()
    new = path.with_suffix(".new")
    new.write_bytes(path.read_bytes())
    os.utime(new, ns=(known.st_atime_ns, known.st_mtime_ns))
    new.replace(path)


def touch(path):
    os.utime(path, ns=(1, 1))


@pytest.mark.parametrize("how", [change, same_size_and_time, touch, lambda path: path.unlink()])
def test_each_way_to_save_is_noticed(recipe, how):
    files = WatchedFiles([recipe])
    how(recipe)
    assert files.saved(0.0) == ()
    assert files.saved(1.0) == (str(recipe),)


def test_a_file_that_vanishes_and_comes_back_is_told_each_time(recipe):
    files = WatchedFiles([recipe])
    recipe.unlink()
    assert stamp_of(str(recipe)) is None
    files.saved(0.0)
    assert files.saved(1.0) == (str(recipe),)
    recipe.write_text("recipe: 1\n")
    files.saved(2.0)
    assert files.saved(3.0) == (str(recipe),)


def test_a_file_gone_for_a_moment_is_one_save(recipe):
    files = WatchedFiles([recipe])
    recipe.unlink()
    files.saved(0.0)
    recipe.write_text("recipe: 1\n")
    assert files.saved(0.05) == ()
    assert files.saved(1.0) == (str(recipe),)


def test_what_was_saved_while_a_run_read_it_is_told(recipe, tmp_path):
    bench = tmp_path / "bench.yaml"
    bench.write_text("machine: 1\n")
    files, read = WatchedFiles([recipe]), stamps_of([bench])
    bench.write_text("machine: 1\nname: bench\n")
    files.follow(read, only=True)
    files.saved(0.0)
    assert files.saved(1.0) == (str(bench),)


def test_what_is_read_no_more_is_left_but_never_what_was_named(recipe, tmp_path):
    files = WatchedFiles([recipe])
    files.follow(stamps_of([tmp_path / "a.yaml"]), only=True)
    files.follow(stamps_of([tmp_path / "b.yaml"]), only=False)
    assert files.paths == tuple(str(tmp_path / name) for name in ("a.yaml", "b.yaml", "fern.yaml"))
    files.follow(stamps_of([tmp_path / "c.yaml"]), only=True)
    assert files.paths == tuple(str(tmp_path / name) for name in ("c.yaml", "fern.yaml"))
