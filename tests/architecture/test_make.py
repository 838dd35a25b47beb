"""The Makefile and the hook of docs/use/make.md, run as they stand."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "use" / "make.md").read_text("utf-8")
LEAF = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">'
    '<circle cx="10" cy="10" r="{radius}"/></svg>'
)
RECIPE = """recipe: 1
settings: {engrave: {power: 50 %, speed: 900 mm/s, pitch: 0.1 mm}}
passes: [merge]
"""
TOOLS = {
    "tidy-svg": 'exec cat "$1"',
    "draw-png": f'exec {sys.executable} -c "'
    "import sys, resvg_py; text = open(sys.argv[1], encoding='utf-8').read(); "
    "open(sys.argv[2], 'wb').write(bytes(resvg_py.svg_to_bytes(svg_string=text, dpi=96)))"
    '" "$1" "$2"',
    "evenmark": f'echo "$@" >> calls; exec {sys.executable} -m preprocess "$@"',
}


def block(language: str, begins: str) -> str:
    found = re.findall(rf"^```{language}\n(.*?)^```$", PAGE, re.DOTALL | re.MULTILINE)
    (one,) = [text for text in found if text.startswith(begins)]
    return one


@pytest.fixture
def labels(tmp_path):
    """A folder with two drawings and a recipe, and the tools on the path."""
    tools = tmp_path / "tools"
    tools.mkdir()
    for name, does in TOOLS.items():
        (tools / name).write_text(f"#!/bin/sh\n{does}\n", "utf-8")
        (tools / name).chmod(0o755)
    folder = tmp_path / "labels"
    folder.mkdir()
    for name, radius in (("seed", 5), ("husk", 7)):
        (folder / f"{name}.svg").write_text(LEAF.format(radius=radius), "utf-8")
    (folder / "label.yaml").write_text(RECIPE, "utf-8")
    environment = {
        **os.environ,
        "PATH": os.pathsep.join([str(tools), os.environ["PATH"]]),
        "PYTHONPATH": str(ROOT),
    }

    def call(*command, check=True):
        return subprocess.run(
            command, cwd=folder, env=environment, capture_output=True, text=True, check=check
        )

    return folder, call


def runs(folder) -> list[str]:
    """Drawings that evenmark was called for since this was last asked."""
    calls = folder / "calls"
    lines = calls.read_text("utf-8").splitlines() if calls.exists() else []
    calls.unlink(missing_ok=True)
    return sorted(line.split()[2] for line in lines)


@pytest.mark.skipif(shutil.which("make") is None, reason="there is no make on this machine")
def test_the_makefile_makes_all_and_then_only_what_changed(labels):
    folder, call = labels
    (folder / "Makefile").write_text(block("make", "designs"), "utf-8")
    call("make", "-j2")
    assert runs(folder) == ["husk.tidy.svg", "seed.tidy.svg"]
    for name in ("seed", "husk"):
        assert (folder / f"{name}.laser.svg").read_text("utf-8").startswith("<?xml")
        assert (folder / f"{name}.overlay.png").read_bytes().startswith(b"\x89PNG")
    assert "Nothing to be done" in call("make").stdout
    os.utime(folder / "seed.tidy.svg", (1e9, 1e9))
    call("make")
    assert runs(folder) == ["seed.tidy.svg"]
    os.utime(folder / "label.yaml", (2.1e9, 2.1e9))
    good = (folder / "seed.laser.svg").read_bytes()
    (folder / "seed.tidy.svg").write_text("<svg", "utf-8")
    assert call("make", "-k", check=False).returncode != 0, "a failure stops what depends on it"
    assert runs(folder) == ["husk.tidy.svg", "seed.tidy.svg"]
    assert (folder / "seed.laser.svg").read_bytes() == good


def test_keep_old_leaves_what_would_not_change(labels):
    folder, call = labels
    command = [sys.executable, "-m", "preprocess", "run", "label.yaml", "seed.svg", "--no-heat"]
    call(*command)
    os.utime(folder / "seed.laser.svg", (1e9, 1e9))
    assert "seed.laser.svg is as it was" in call(*command, "--keep-old").stderr
    assert (folder / "seed.laser.svg").stat().st_mtime == 1e9
    (folder / "seed.svg").write_text(LEAF.format(radius=6), "utf-8")
    assert "wrote seed.laser.svg" in call(*command, "--keep-old").stderr
    assert (folder / "seed.laser.svg").stat().st_mtime > 1e9


@pytest.mark.skipif(shutil.which("make") is None, reason="there is no make on this machine")
def test_a_warning_of_the_check_stops_the_rule(labels):
    folder, call = labels
    (folder / "Makefile").write_text(block("make", "%.laser.svg: %.svg"), "utf-8")
    call("make", "seed.laser.svg")
    assert (folder / "seed.laser.svg").is_file()
    (folder / "label.yaml").write_text(f"{RECIPE}machine: {{name: bench, spot: 12 mm}}\n", "utf-8")
    (folder / "seed.laser.svg").unlink()
    assert call("make", "seed.laser.svg", check=False).returncode == 2
    assert not (folder / "seed.laser.svg").exists()


@pytest.mark.skipif(shutil.which("git") is None, reason="there is no git on this machine")
def test_the_hook_stops_a_commit_that_would_spoil_a_part(labels):
    folder, call = labels
    call("git", "init", "-q")
    hook = folder / ".git" / "hooks" / "pre-commit"
    hook.parent.mkdir(exist_ok=True)
    hook.write_text(block("sh", "#!/bin/sh"), "utf-8")
    hook.chmod(0o755)
    commit = ["git", "-c", "user.name=nursery", "-c", "user.email=n@example.org", "commit"]
    (folder / "empty.svg").write_text("<svg", "utf-8")
    call("git", "add", "empty.svg")
    refused = call(*commit, "-qm", "a label", check=False)
    assert refused.returncode == 1
    assert "error: empty.svg:1" in refused.stderr
    call("git", "rm", "-qf", "empty.svg")
    (folder / "label.yaml").write_text(
        "recipe: 1\nmachine: {name: bench, field: [90 mm, 90 mm], spot: 0.06 mm}\n"
        "part: {outline: [20 mm, 20 mm]}\n" + RECIPE.partition("\n")[2]
    )
    call("git", "add", "seed.svg")
    assert call(*commit, "-qm", "a label", check=False).returncode == 0
