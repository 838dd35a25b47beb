"""A drawing that wants more memory than it may have is refused in a sentence; the old one stays."""

from __future__ import annotations

import subprocess
import sys

import pytest

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no such limit there")

RECIPE = """\
recipe: 1
drawing: {{tolerance: 0.0001 mm}}
settings: {{engrave: {{power: 50 %, speed: 900 mm/s, pitch: 0.1 mm}}}}
limits: {{memory: {memory}}}
passes: [merge]
"""
MEASURED = """
import re, sys
sys.argv = ["evenmark", "run", "recipe.yaml", "design.svg", "-o", "out.svg", "--no-heat"]
from preprocess.cli.app import main
try:
    main()
finally:
    with open("/proc/self/status") as status:  # rusage also counts what the parent had
        print("peak", int(re.search(r"VmHWM:\\s*(\\d+)", status.read())[1]) // 1024)
"""


def bed(count):
    """So many seeds; each is flattened into about a hundred points."""
    seeds = "".join(f'<circle cx="{n % 200}" cy="{n // 200}" r=".4"/>' for n in range(count))
    return f'<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm">{seeds}</svg>'


def run(folder, memory, svg):
    (folder / "recipe.yaml").write_text(RECIPE.format(memory=memory))
    (folder / "design.svg").write_text(svg)
    (folder / "out.svg").write_text("the old one")
    call = [sys.executable, "-c", MEASURED]
    done = subprocess.run(
        call, cwd=folder, capture_output=True, text=True, check=False, timeout=300
    )
    return done, int(done.stdout.rpartition("peak ")[2])


def test_a_drawing_may_have_only_so_much(tmp_path):
    seeds = bed(40_000)
    done, peak = run(tmp_path, "1 GiB", seeds)
    assert done.returncode == 1
    assert "design.svg: the drawing needs more memory than there is" in done.stderr
    assert "limits: memory" in done.stderr
    assert peak <= 1024
    assert (tmp_path / "out.svg").read_text() == "the old one"
    done, peak = run(tmp_path, "8 GiB", seeds)
    assert done.returncode == 0, done.stderr
    assert peak < 8192


def test_copies_of_one_place_are_refused_long_before_memory_runs_out(tmp_path):
    """Ten copies of ten copies, five times over: squares that make 10¹⁰ pairs, in 1 kB."""
    uses = "".join(
        f'<g id="a{level}">' + f'<use href="#a{level - 1}"/>' * 10 + "</g>" for level in range(1, 6)
    )
    body = f'<defs><rect id="a0" width="1" height="1"/>{uses}</defs><use href="#a5"/>'
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm">{body}</svg>'
    done, peak = run(tmp_path, "8 GiB", svg)
    assert done.returncode == 1
    # ten to the fifth squares and the groups and uses above them: 2 (10⁵ + 10⁴ + … + 10) + 1
    assert "design.svg:1: uses would draw 222221 elements" in done.stderr
    assert peak < 2048
    assert (tmp_path / "out.svg").read_text() == "the old one"


DRAWN = """
import sys
from importlib import import_module
module, name = sys.argv[1].split(":")
def hungry(*_, **__):
    return bytearray(3 << 30)  # more than the 1 GiB that the recipe allows
setattr(import_module(module), name, hungry)
from preprocess.cli.app import main
sys.argv = ["evenmark", *sys.argv[2:]]
main()
"""


@pytest.mark.parametrize(
    ("drawer", "option"),
    [
        ("preprocess.preview.overlay.overlay:overlay_svg", "--overlay"),
        ("preprocess.preview.sheet.job_sheet:overlay_view", "--sheet"),
    ],
)
def test_pictures_of_a_drawing_may_have_only_so_much(tmp_path, drawer, option):
    (tmp_path / "recipe.yaml").write_text(RECIPE.format(memory="1 GiB"))
    (tmp_path / "design.svg").write_text(bed(3))
    asked = ["run", "recipe.yaml", "design.svg", "-o", "out.svg", "--no-heat"]
    done = subprocess.run(
        [sys.executable, "-c", DRAWN, drawer, *asked, option, "picture"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 1, done.stderr
    assert "design.svg: the drawing needs more memory than there is" in done.stderr
    assert not (tmp_path / "out.svg").exists()
    assert not (tmp_path / "picture").exists()


def test_an_overlay_of_nested_blades_takes_little_memory(tmp_path):
    """A hundred blades one in another: 4 950 pairs share an area."""
    blades = "".join(
        f'<ellipse cx="50" cy="50" rx="{48 - n / 3}" ry="{20 - n / 9}"'
        f' transform="rotate({n / 5} 50 50)"/>'
        for n in range(100)
    )
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm">{blades}</svg>'
    measured = MEASURED.replace('"--no-heat"', '"--no-heat", "--overlay", "overlay.svg"')
    (tmp_path / "recipe.yaml").write_text(RECIPE.format(memory="8 GiB"))
    (tmp_path / "design.svg").write_text(svg)
    call = [sys.executable, "-c", measured]
    done = subprocess.run(
        call, cwd=tmp_path, capture_output=True, text=True, check=False, timeout=300
    )
    assert done.returncode == 0, done.stderr
    assert int(done.stdout.rpartition("peak ")[2]) <= 300
