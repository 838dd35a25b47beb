"""Files that a run opens, in a process of its own: a hook cannot be taken out again."""

from __future__ import annotations

import json
import subprocess
import sys

HEARD = """
import json, sys, tempfile
from pathlib import Path
from preprocess.watch.opened import OpenedFiles

opened = OpenedFiles()
sys.addaudithook(opened)
Path("before.yaml").read_text()
opened.is_on = True
Path("bench.yaml").read_text()
open(b"moss.yaml", "rb").close()
try:
    Path("gone.yaml").read_bytes()
except FileNotFoundError:
    pass
Path("written.svg").write_text("")
open(0, closefd=False)
import preprocess.model.bench.machine, colorsys
opened.is_on = False
Path("after.yaml").read_text()
print(json.dumps(opened.stamps))
"""


def test_files_to_read_are_heard_of_there_or_not_and_none_of_pythons(tmp_path):
    for name in ("before", "bench", "moss", "after"):
        (tmp_path / f"{name}.yaml").write_text(name)
    said = subprocess.run(
        [sys.executable, "-c", HEARD], cwd=tmp_path, capture_output=True, text=True, check=True
    ).stdout
    bench, moss = ((tmp_path / f"{name}.yaml").stat() for name in ("bench", "moss"))
    assert json.loads(said) == {
        str(tmp_path / "bench.yaml"): [bench.st_mtime_ns, 5, bench.st_ino],
        str(tmp_path / "moss.yaml"): [moss.st_mtime_ns, 4, moss.st_ino],
        str(tmp_path / "gone.yaml"): None,
    }
