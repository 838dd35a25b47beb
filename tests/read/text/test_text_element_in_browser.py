"""Text as a browser draws it: the same file, with the same fonts, cell by cell."""

import base64
import shutil
import subprocess

import numpy as np
import pytest
from PIL import Image

from preprocess.model.options.fonts import Fonts
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read
from tests.comparing.flat import Flat
from tests.comparing.ours import drawn
from tests.read.lettering import ALEF, BET, folder_of_fonts, font_bytes, variable_bytes

BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
SIDE = 200
ZOOM = 4
"""Letters of 65 px are then so large that the browser draws them as shapes."""

COLUMNS = 6
SIZE = 65
CURVE = '<path id="{id}" fill="none" d="M10 120Q100 40 190 120"/>'

# name: attributes of the text, its content; {id} is the cell's own path
CASES = {
    "plain": ('x="10" y="90"', "fern"),
    "kerned": ('x="10" y="90"', "rnr"),
    "ligature": ('x="10" y="90"', "fin"),
    "middle": ('x="100" y="90" text-anchor="middle"', "fen"),
    "end": ('x="190" y="90" text-anchor="end"', "fen"),
    "lists": ('x="10 60" y="70 120" dx="0 5 -9" dy="0 9 -20"', "fen"),
    "dx through a ligature": ('x="10" y="90" dx="0 20 0"', "fin"),
    "back and forth": ('x="90" y="90" dx="0 -60 9" text-anchor="middle"', "fen"),
    "rotated": ('x="30" y="90" rotate="20 -15"', "fen"),
    "letters apart": ('x="10" y="90" letter-spacing="9"', "fie"),
    "words apart": ('x="10" y="90" word-spacing="12"', "f e i"),
    "apart in the middle": ('x="100" y="90" letter-spacing="6" text-anchor="middle"', "fen"),
    "spans": ('x="10" y="70"', 'f<tspan dy="40" font-size="80">e</tspan>n'),
    "spans do not kern": ('x="10" y="90"', 'r<tspan fill="#111">n</tspan>'),
    "spans with places": ('x="10" y="70"', 'fe<tspan x="20" y="150">n</tspan>e'),
    "only a new line": ('x="90" y="70" text-anchor="middle"', 'fe<tspan y="150">n</tspan>'),
    "spaces": ('x="10" y="90"', "  f \n <tspan> e </tspan> i "),
    "spaces kept": ('x="190" y="90" xml:space="preserve" text-anchor="end"', "f  e "),
    "bold": ('x="10" y="90" font-weight="bold"', 'f<tspan font-weight="400">e</tspan>'),
    "varied": ('x="10" y="90" font-family="Fern Varied" font-weight="900"', "fen"),
    "overlapping": ('x="10" y="90"', "mo"),
    "path": ("", f'{CURVE}<textPath href="#{{id}}">fern</textPath>'),
    "path, middle": (
        'text-anchor="middle"',
        f'{CURVE}<textPath href="#{{id}}" startOffset="50%">fen</textPath>',
    ),
    "path, moved": (
        "",
        f'{CURVE}<textPath href="#{{id}}">f<tspan dx="9" dy="-9">en</tspan></textPath>',
    ),
    "path, turned": ('rotate="20"', f'{CURVE}<textPath href="#{{id}}">fen</textPath>'),
    "path, too short": ("", f'{CURVE}<textPath href="#{{id}}" startOffset="120">fen</textPath>'),
    "right to left": ('x="190" y="90" direction="rtl"', ALEF + BET + ALEF),
    "right to left, end": ('x="10" y="90" direction="rtl" text-anchor="end"', ALEF + BET),
    "right to left, apart": ('x="190" y="90" direction="rtl" letter-spacing="9"', ALEF + BET),
    "right to left, shifted": ('x="190" y="90" direction="rtl" dx="0 -9"', ALEF + BET + ALEF),
    "both ways": ('x="10" y="90"', f"f{BET}{ALEF}e"),
    "both ways from the right": ('x="190" y="90" direction="rtl"', f"{BET} fi {ALEF}"),
    "brackets and digits": ('x="5" y="90" font-size="45"', f"f({ALEF}{BET}) 1"),
    "turned by an element": (
        'x="10" y="90"',
        'f<tspan direction="rtl" unicode-bidi="bidi-override">en</tspan>',
    ),
    "hanging": ('x="10" y="90" dominant-baseline="hanging"', "fen"),
    "central": ('x="10" y="90" dominant-baseline="central"', "fen"),
    "middle line": ('x="10" y="90" dominant-baseline="middle"', "fen"),
    "raised": ('x="10" y="90"', 'f<tspan baseline-shift="super" font-size="40">e</tspan>n'),
    "lowered": ('x="10" y="90"', 'f<tspan baseline-shift="-20%">e</tspan>n'),
    "fitted": ('x="10" y="90" textLength="170"', "fen"),
    "fitted wider": ('x="10" y="90" textLength="170" lengthAdjust="spacingAndGlyphs"', "fen"),
    # The browser rounds the gap above the line to whole px.
    "underlined": ('x="10" y="90" font-size="60" text-decoration="underline"', "fen"),
    "struck through": ('x="10" y="90" text-decoration="line-through"', "f n"),
    "stroked": ('x="10" y="90" fill="none" stroke="#000" stroke-width="5"', "fen"),
}


def sheet():
    cells = []
    for number, (attributes, content) in enumerate(CASES.values()):
        x, y = number % COLUMNS * SIDE, number // COLUMNS * SIDE
        body = content.replace("{id}", f"c{number}")
        path, mark, rest = body.partition("/>") if body.startswith("<path") else ("", "", body)
        size = "" if "font-size" in attributes else f'font-size="{SIZE}"'
        cells.append(
            f'<svg x="{x}" y="{y}" width="{SIDE}" height="{SIDE}">{path}{mark}'
            f"<text {attributes} {size}>{rest}</text></svg>"
        )
    width, height = COLUMNS * SIDE, -(-len(CASES) // COLUMNS) * SIDE
    size = f'width="{width}" height="{height}" viewBox="0 0 {width} {height}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size} font-family="Fern Test">'
    return f"{head}<style>{style()}</style>{''.join(cells)}</svg>", width, height


def style():
    faces = (
        ("Fern Test", "400", font_bytes()),
        ("Fern Test", "700", font_bytes(style="Bold", weight=700)),
        ("Fern Varied", "400 900", variable_bytes()),
    )
    return (
        "".join(
            f"@font-face{{font-family:'{family}';font-weight:{weight};"
            f"src:url(data:font/ttf;base64,{base64.b64encode(data).decode()})}}"
            for family, weight, data in faces
        )
        + "text{text-rendering:geometricPrecision}"
    )


@pytest.fixture(scope="module")
def pictures(tmp_path_factory):
    """Marked or not: ours and theirs, of all cells."""
    folder = tmp_path_factory.mktemp("browser")
    svg, width, height = sheet()
    page, shot = folder / "sheet.svg", folder / "shot.png"
    page.write_text(svg, "utf-8")
    options = ["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"]
    options += [f"--window-size={width},{height}", f"--force-device-scale-factor={ZOOM}"]
    options += ["--font-render-hinting=none", f"--user-data-dir={folder / 'profile'}"]
    command = [BROWSER, *options, f"--screenshot={shot}", page.as_uri()]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    theirs = np.asarray(Image.open(shot).convert("L")) < 128
    fonts = Fonts(folder=str(folder_of_fonts(folder / "fonts")), installed=False)
    artwork = read(svg.encode(), "sheet.svg", ReadingOptions(fonts=fonts)).artwork
    return Flat().text(drawn(artwork, theirs.shape[::-1], ZOOM)), theirs


@pytest.mark.skipif(BROWSER is None, reason="no Chromium here")
@pytest.mark.parametrize("name", CASES)
def test_a_browser_draws_the_same_lettering(name, pictures):
    number, side = list(CASES).index(name), SIDE * ZOOM
    top, left = number // COLUMNS * side, number % COLUMNS * side
    ours, theirs = (one[top : top + side, left : left + side] for one in pictures)
    assert theirs.any()
    assert np.count_nonzero(ours & theirs) / np.count_nonzero(ours | theirs) >= 0.98
