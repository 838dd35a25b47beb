# ruff: noqa: E501, ISC004 - drawings stand here as the text that makes them
"""Drawings made to harm: each ends in artwork or in a sentence, with bounded work, opening nothing.

What could run without end is read in a process of its own that is killed after a while.
"""

from __future__ import annotations

import ast
import builtins
import io
import os
import re
import socket
import subprocess
import sys
from pathlib import Path

import pytest

import preprocess
from preprocess.errors import UserError
from preprocess.model.options.limits import DrawingLimits
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read
from tests.read.reading import NS, codes, read_sheet, sheet

LEAF = '<rect id="leaf" width="5" height="5"/>'
GUARD_S = 60
GUARDED = """
import sys
from preprocess.errors import UserError
from preprocess.model.options.limits import DrawingLimits
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read
body, limits = eval(sys.stdin.readline()), eval(sys.stdin.readline())
size = 'width="100mm" height="100mm" viewBox="0 0 100 100"'
data = f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{body}</svg>'.encode()
try:
    reading = read(data, "hostile.svg", ReadingOptions(limits=DrawingLimits(**limits)))
    print(" ".join(sorted({finding.code for finding in reading.findings})))
except UserError as error:
    print(error)
"""
FEW = {"copies": 500, "tiles": 200, "vertices": 50_000, "crossings": 5000}

# name: the drawing's body as Python that makes it, limits, words that must be said
HOSTILE = {
    "path of many commands": ("'<path d=\"M0 0' + 'h.01v.01' * 300_000 + '\"/>'", FEW, "points"),
    "path of five million commands": ("'<path d=\"M0 0' + 'L1 1L2 3' * 2_550_000 + '\"/>'", {}, "more than 5000000 points"),
    "a scribble": (
        "'<path d=\"M0 0' + ''.join(f'L{i * 79 % 97} {i * 83 % 89}' for i in range(2000)) + '\"/>'",
        FEW,
        "cross themselves more than 5000 times",
    ),
    "curves beyond the page": ("'<path d=\"M0 0' + 'C9e4 9e4 -9e4 9e4 0 1' * 3000 + '\"/>'", {}, "points"),
    "uses of uses": (
        "'<g id=\"u0\"><path d=\"M0 0h1v1z\"/></g>' + ''.join("
        "f'<g id=\"u{i}\">' + f'<use href=\"#u{i - 1}\"/>' * 10 + '</g>' for i in range(1, 10))",
        FEW,
        "uses would draw over 1000000000 elements",
    ),
    "patterns of patterns": (
        "''.join(f'<pattern id=\"p{i}\" width=\"1\" height=\"1\" patternUnits=\"userSpaceOnUse\">'"
        "f'<path d=\"M0 0h1v1H0z\" fill=\"url(#p{i - 1})\"/></pattern>' for i in range(7))"
        "+ '<rect width=\"9\" height=\"9\" fill=\"url(#p6)\"/>'",
        FEW,
        "pattern-cap",
    ),
    "tiles without size": (
        "'<pattern id=\"p\" width=\"1e-9\" height=\"1e-9\" patternUnits=\"userSpaceOnUse\">'"
        "'<path d=\"M0 0h1v1z\"/></pattern><rect width=\"9\" height=\"9\" fill=\"url(#p)\"/>'",
        {},
        "pattern-cap",
    ),
    "clips in clips": (
        "''.join(f'<clipPath id=\"c{i}\">' + f'<rect width=\"9\" height=\"9\" "
        "clip-path=\"url(#c{i + 1})\"/>' * 2 + '</clipPath>' for i in range(30))"
        "+ '<rect width=\"9\" height=\"9\" clip-path=\"url(#c0)\"/>'",
        FEW,
        "too-many-copies",
    ),
    "a chain of clips": (
        "''.join(f'<clipPath id=\"c{i}\" clip-path=\"url(#c{i + 1})\"><path d=\"M0 0h9v9z\"/>'"
        "'</clipPath>' for i in range(3000)) + '<rect width=\"9\" height=\"9\" clip-path=\"url(#c0)\"/>'",
        {},
        "nested too deep",
    ),
    "a chain of gradients": (
        "''.join(f'<linearGradient id=\"g{i}\" href=\"#g{i + 1}\"/>' for i in range(20_000))"
        "+ '<rect width=\"9\" height=\"9\" fill=\"url(#g0)\"/>'",
        {},
        "draws-nothing",
    ),
    "markers on markers": (
        "'<marker id=\"m\"><path d=\"M0 0l1 1l1 1l1 1\" marker-mid=\"url(#n)\"/></marker>'"
        "'<marker id=\"n\"><path d=\"M0 0h1v1z\" marker-mid=\"url(#m)\"/></marker>'"
        "'<path marker-mid=\"url(#m)\" d=\"M0 0' + 'l1 1l-1-1' * 3000 + '\"/>'",
        FEW,
        "",
    ),
    "giant array of dashes": (
        "'<path d=\"M0 0H90\" stroke=\"#000\" stroke-dasharray=\"' + '1e-3 ' * 200_000 + '\"/>'",
        {"dashes": 1000},
        "too-many-dashes",
    ),
    "dashes without size": (
        "'<path d=\"M0 0H90\" stroke=\"#000\" stroke-dasharray=\"1e-300\"/>'",
        {},
        "too-many-dashes",
    ),
    "many dashed lines": (
        "'<path d=\"M0 0H90\" stroke=\"#000\" stroke-dasharray=\".01\"/>' * 50",
        FEW,
        "points",
    ),
    "strokes beyond all measure": (
        "'<path fill=\"none\" stroke=\"#000\" stroke-linejoin=\"round\" stroke-width=\"1e7\" "
        "d=\"M0 0' + 'c1 0 2 1 2 2s1 2 2 2l-3 1' * 60 + '\"/><path d=\"M0 0h9v9z\" fill=\"#fff\"/>'",
        {},
        "beyond-page",
    ),
    "selectors without end": ("'<style>' + 'a b c ' * 3000 + '{fill:red}</style><path d=\"M0 0h9v9z\"/>'", {}, "style-rule-ignored"),
    "rules in rules": ("'<style>' + 'g{' * 3000 + '</style><path d=\"M0 0h9v9z\"/>'", {}, "style-rule-ignored"),
    "not of not": (
        "'<style>' + ':not(' * 900 + 'a' + ')' * 900 + '{fill:red}</style><path d=\"M0 0h9v9z\"/>'",
        {},
        "",
    ),
    "variables that double": (
        "'<style>rect{--a0:x;' + ''.join(f'--a{i}:var(--a{i - 1}) var(--a{i - 1});' "
        "for i in range(1, 50)) + 'fill:var(--a49)}</style><rect width=\"9\" height=\"9\"/>'",
        {},
        "",
    ),
    "many spans": (
        "'<text>' + '<tspan>' * 600 + '</tspan>' * 600 + '</text>'", {}, "nested more than 250 deep"
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_work_is_bounded(name):
    body, limits, words = HOSTILE[name]
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", GUARDED],
        input=f"{body}\n{limits!r}\n",
        capture_output=True,
        text=True,
        timeout=GUARD_S,
        check=False,
        cwd=Path(preprocess.__file__).parents[1],
    )
    assert not done.stderr, done.stderr[-800:]
    assert words in done.stdout


ODD_VALUES = [
    'fill="rgb(1e999,nan,-5%)"', 'fill="#ggg"', 'fill="hsl(1e400 200% -3%)"', 'fill="url(#"',
    'fill="color-mix(in srgb, red 1e9%, blue)"', 'stroke="#000" stroke-width="1e308"',
    'stroke="#000" stroke-width="-1"', 'stroke="#000" stroke-miterlimit="1e400"',
    'transform="scale(1e308)"', 'transform="scale(1e-320)"', 'transform="matrix(nan 0 0 1 0 0)"',
    'x="1e400"', 'x="-1e308mm"', 'width="1e38in"', 'height="5furlong"', 'x="٣"', 'x="1_0"',
    'rx="1e308" ry="-1e308"', 'opacity="1e400"', 'font-size="1e308em" y="1em"',
    'style="fill:red;;;:;}{"', 'style="--a:var(--a);fill:var(--a)"', 'class="\u202e&#x1F600;"',
]  # fmt: skip


@pytest.mark.parametrize("value", ODD_VALUES)
def test_colours_and_units_from_nowhere(value):
    name = value.partition("=")[0]
    body = re.sub(rf'\b{name}="[^"]*"', "", '<rect id="odd" width="5" height="5" x="1"/>')
    reading = read_sheet(body.replace("<rect", f"<rect {value}") + LEAF)
    assert any("leaf" in {s.id for s in shape.sources} for shape in reading.artwork.shapes)


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        ({"file": 100.0}, "limits: file in the recipe"),
        ({"depth": 2}, "limits: depth in the recipe"),
        ({"vertices": 10}, "limits: vertices in the recipe"),
    ],
)
def test_each_cap_names_its_key(limits, words):
    with pytest.raises(UserError, match=words):
        read_sheet("<g><g>" + LEAF * 20 + "</g></g>", limits=DrawingLimits(**limits))


CANARY = "canary-that-no-drawing-may-open"
REACHING = {
    "use": '<use href="{0}#a"/>',
    "use, old": '<use xlink:href="{0}#a"/>',
    "image": '<image href="{0}" width="5" height="5"/>',
    "image, old": '<image xlink:href="{0}" width="5" height="5"/>',
    "feImage": '<filter id="f"><feImage href="{0}"/></filter><g filter="url(#f)"/>',
    "import": '<style>@import "{0}"; @import url({0});</style>',
    "font": "<style>@font-face {{font-family: A; src: url({0})}}</style>"
    '<text font-family="A">a</text>',
    "fill": '<rect width="5" height="5" fill="url({0}#a)" stroke="url(&quot;{0}#a&quot;)"/>',
    "clip": '<rect width="5" height="5" clip-path="url({0}#a)" mask="url({0}#b)"/>',
    "marker": '<path d="M0 0h5" marker-start="url({0}#a)"/>',
    "gradient": '<linearGradient id="g" href="{0}#a"/><rect width="5" height="5" fill="url(#g)"/>',
    "pattern": '<pattern id="g" href="{0}#a"/><rect width="5" height="5" fill="url(#g)"/>',
    "text path": '<text><textPath href="{0}#a">a</textPath></text>',
    "link": '<link rel="stylesheet" href="{0}" xmlns="http://www.w3.org/1999/xhtml"/>',
    "script": '<script href="{0}"/>',
    "tref": '<text><tref xlink:href="{0}#a"/></text>',
    "base": '<g xml:base="{0}"><use href="#a"/></g>',
    "include": '<include xmlns="http://www.w3.org/2001/XInclude" href="{0}"/>',
    "animate": '<set href="{0}#a" attributeName="d"/>',
}
HEADS = {
    "style sheet": '<?xml-stylesheet href="{0}" type="text/css"?>',
    "transformation": '<?xml-stylesheet href="{0}" type="text/xsl"?>',
    "type": '<!DOCTYPE svg SYSTEM "{0}">',
    "public type": '<!DOCTYPE svg PUBLIC "-//none//none" "{0}">',
    "entity": '<!DOCTYPE svg [<!ENTITY x SYSTEM "{0}">]>',
    "parameter": '<!DOCTYPE svg [<!ENTITY % x SYSTEM "{0}"> %x;]>',
}


@pytest.fixture
def canary(tmp_path, monkeypatch):
    """A file that is there; whoever opens it, or any socket, is caught."""
    path = tmp_path / f"{CANARY}.svg"
    path.write_text(f'<svg {NS}><rect id="a" width="77" height="77"/></svg>')
    opened = []

    def watched(call):
        def instead(name, *rest, **more):
            if CANARY in os.fspath(name) if isinstance(name, str | os.PathLike) else False:
                opened.append(name)
            return call(name, *rest, **more)

        return instead

    monkeypatch.setattr(builtins, "open", watched(builtins.open))
    monkeypatch.setattr(io, "open", watched(io.open))
    monkeypatch.setattr(os, "open", watched(os.open))
    monkeypatch.setattr(socket.socket, "connect", lambda *_: opened.append("socket"))
    yield path
    assert not opened


def _refusing(data: bytes) -> set[str]:
    try:
        reading = read(data, "hostile.svg", ReadingOptions())
    except UserError as error:
        return {str(error)}
    for shape in reading.artwork.shapes:  # nothing of the canary is in what was read
        left, top, right, bottom = shape.geometry.bounds
        assert max(right - left, bottom - top) < 70
    return codes(reading)


@pytest.mark.parametrize("how", ["{0}", "file://{0}"])
@pytest.mark.parametrize("name", REACHING)
def test_what_a_drawing_names_is_never_opened(canary, name, how):
    _refusing(sheet(REACHING[name].format(how.format(canary)) + LEAF))


@pytest.mark.parametrize("name", HEADS)
def test_what_the_head_of_a_drawing_names_is_never_opened(canary, name):
    inside = "<desc>&x;</desc>" if name == "entity" else ""
    _refusing(HEADS[name].format(canary).encode() + sheet(inside + LEAF))


def patterns() -> list[str]:
    """Every regular expression of the package that has a name, as module:name."""
    root = Path(preprocess.__file__).parents[1]
    found = []
    for path in sorted(Path(preprocess.__file__).parent.rglob("*.py")):
        module = ".".join(path.relative_to(root).with_suffix("").parts)
        for node in ast.parse(path.read_text("utf-8")).body:
            named = isinstance(node, ast.Assign) and isinstance(node.value, ast.Call)
            if named and ast.unparse(node.value.func) == "re.compile":
                found.append(f"{module}:{ast.unparse(node.targets[0])}")
    return found


PUMPS = (
    *"a-()1'\"#=.{ \t\n",
    *("1 ", " ,", "1,", "a(", "()", "1e", "url(", "var(--a,", "M0 0", "M0 0L1 1"),
    *("circle(", "a:", ": ", "-a", "1.", "matrix(1 ", "1 \t", "e+1"),
)
SCAN = """
import importlib, sys
pumps = eval(sys.argv[1])
for name in sys.argv[2:]:
    module, _, variable = name.partition(":")
    pattern = getattr(importlib.import_module(module), variable)
    print(name, flush=True)
    for head in ("", "url(", "var(--a,", "M0 0", "M0 0C", "circle(", "matrix("):
        for pump in pumps:
            text = head + pump * 150 + "\\0!"
            text = text.encode() if isinstance(pattern.pattern, bytes) else text
            pattern.match(text)
            pattern.fullmatch(text)
            pattern.search(text)
"""


def test_no_regular_expression_backtracks_without_end():
    """Catastrophic ones would take longer than the age of the world on 150 repeats."""
    names = patterns()
    assert len(names) > 30
    done = subprocess.run(
        [sys.executable, "-c", SCAN, repr(PUMPS), *names],
        timeout=GUARD_S,
        cwd=Path(preprocess.__file__).parents[1],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.split() == names, done.stderr[-800:]
