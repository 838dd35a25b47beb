"""Which font a text gets, and what is said when it cannot have the one that it asks for."""

import base64
import subprocess
import sys
from io import BytesIO
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from preprocess.model.options.fonts import Fonts
from preprocess.read.fonts import catalogue
from preprocess.read.fonts.catalogue import FontCatalogue
from preprocess.read.fonts.faces import Face, font_faces, font_files
from preprocess.read.fonts.matching import FontRequest, best_face, parse_font_families
from preprocess.read.style.font_shorthand import font_longhands
from tests.read.lettering import folder_of_fonts, font_bytes
from tests.read.reading import codes, painted, read_sheet


def text(words="f", more="", family="Fern Test"):
    return (
        f'<text id="name" x="10" y="50" font-family="{family}" font-size="10" {more}>{words}</text>'
    )


def finding(reading, code):
    (found,) = (one for one in reading.findings if one.code == code)
    return found


@pytest.fixture
def folder(tmp_path):
    return folder_of_fonts(tmp_path / "fonts")


@pytest.fixture
def fonts(folder):
    return Fonts(folder=str(folder), installed=False)


def test_a_missing_font_stops_with_element_family_and_remedy(fonts):
    found = finding(read_sheet(text(family="Gone Sans"), fonts=fonts), "font-missing")
    assert found.severity == "stop"
    assert found.elements == ("name",)
    assert "name (line 1; font Gone Sans)" in found.message
    assert "fonts: {folder: …}" in found.remedy
    assert "fonts: {substitute: …}" in found.remedy


def test_a_substitute_stands_in_and_is_named(folder):
    fonts = Fonts(folder=str(folder), installed=False, substitute="fern test")
    reading = read_sheet(text(family="Gone Sans"), fonts=fonts)
    found = finding(reading, "font-substituted")
    assert found.severity == "warn"
    assert "Fern Test Regular for Gone Sans" in found.message
    assert painted(reading).area == pytest.approx(14)


def test_a_substitute_that_is_missing_too_is_named(fonts):
    fonts = Fonts(folder=fonts.folder, installed=False, substitute="Gone Serif")
    found = finding(read_sheet(text(family="Gone Sans"), fonts=fonts), "font-missing")
    assert "nor its substitute Gone Serif" in found.message


@pytest.fixture
def installed(tmp_path, monkeypatch):
    """A computer with one family, of the widths of another."""
    (tmp_path / "bed.ttf").write_bytes(font_bytes("Liberation Sans"))
    monkeypatch.setattr(catalogue, "installed_folders", lambda: [tmp_path])


@pytest.mark.usefixtures("installed")
def test_all_texts_of_a_missing_family_are_one_stop_that_names_the_line_to_add():
    body = "".join(text(family="Helvetica").replace("name", f"plant-{n}") for n in range(36))
    found = finding(read_sheet(body + text(family="Liberation Sands")), "font-missing")
    assert found.message == (
        "37 texts ask for fonts that are missing: plant-0 (line 1; font Helvetica; fonts: {alike: "
        "true} takes Liberation Sans, of the same widths) and 35 more of this font, name (line 1; "
        "font Liberation Sands; fonts: {substitute: Liberation Sans} takes one of a similar name)"
    )
    assert len(found.elements) == 37


@pytest.mark.usefixtures("installed")
def test_a_family_of_the_same_widths_stands_in_where_the_recipe_says_so():
    reading = read_sheet(text(family="Gone, Helvetica, serif"), fonts=Fonts(alike=True))
    found = finding(reading, "font-alike")
    assert found.severity == "warn"
    assert "Liberation Sans Regular for Helvetica" in found.message
    assert painted(reading).area == pytest.approx(14)
    assert "font-missing" in codes(read_sheet(text(family="Courier"), fonts=Fonts(alike=True)))


def test_a_generic_family_takes_an_installed_one_that_is_called_so(tmp_path, monkeypatch) -> None:
    for name in ("Fern Sans Mono", "Fern Sans", "Fern Sans Narrow", "Fern Serif", "Zinnia"):
        (tmp_path / f"{name}.ttf").write_bytes(font_bytes(name))
    monkeypatch.setattr(catalogue, "installed_folders", lambda: [tmp_path])
    kinds = {"sans-serif": "Fern Sans", "serif": "Fern Serif", "monospace": "Fern Sans Mono"}
    for generic, family in kinds.items():
        reading = read_sheet(text(family="Gone"), fonts=Fonts(substitute=generic))
        assert f"{family} Regular for Gone" in finding(reading, "font-substituted").message
    (tmp_path / "DejaVu.ttf").write_bytes(font_bytes("DejaVu Sans"))
    reading = read_sheet(text(family="Gone"), fonts=Fonts(substitute="sans-serif"))
    assert "DejaVu Sans Regular for Gone" in finding(reading, "font-substituted").message


def test_a_missing_letter_stops_and_is_named(fonts):
    found = finding(read_sheet(text("fß"), fonts=fonts), "letter-missing")
    assert found.severity == "stop"
    assert "'ß' (U+00DF) in Fern Test Regular" in found.message


def test_a_later_font_of_the_list_is_named(fonts):
    reading = read_sheet(text(family="Gone Sans, 'Fern Test'"), fonts=fonts)
    assert "Fern Test Regular for Gone Sans" in finding(reading, "font-alternative").message
    assert painted(reading).area == pytest.approx(14)


def test_letters_that_the_first_font_lacks_come_from_the_next(folder):
    (folder / "more.ttf").write_bytes(font_bytes("More", more=True))
    fonts = Fonts(folder=str(folder), installed=False)
    reading = read_sheet(text("fßf", family="Fern Test, More"), fonts=fonts)
    assert codes(reading) == {"text-outlined"}
    assert "Fern Test Regular), name (line 1; More Regular)" in reading.findings[-2].message
    # f, then ß from 14 to 19, then f from 21.
    assert painted(reading).bounds == pytest.approx((11, 42, 23, 50))
    assert painted(reading).area == pytest.approx(14 + 40 + 14)


def test_letters_that_no_font_of_the_list_has_come_from_the_substitute(folder):
    (folder / "more.ttf").write_bytes(font_bytes("More", more=True))
    fonts = Fonts(folder=str(folder), installed=False, substitute="More")
    reading = read_sheet(text("fß"), fonts=fonts)
    assert "More Regular for Fern Test" in finding(reading, "font-substituted").message
    assert painted(reading).area == pytest.approx(14 + 40)


def test_a_face_that_is_not_slanted_is_named(fonts):
    reading = read_sheet(text(more='font-style="italic"'), fonts=fonts)
    assert "Fern Test Regular, not italic" in finding(reading, "font-lacks-style").message
    reading = read_sheet(text(family="Fern Varied", more='font-weight="700"'), fonts=fonts)
    assert "font-lacks-style" not in codes(reading)


def test_a_file_that_is_no_font_is_named(folder, fonts):
    (folder / "broken.ttf").write_bytes(b"not a font at all")
    (folder / "short.otf").write_bytes(font_bytes()[:200])
    (folder / "notes.txt").write_text("not looked at")
    found = finding(read_sheet(text(), fonts=fonts), "font-unreadable")
    assert found.elements == ("broken.ttf", "short.otf")


def test_without_what_shapes_text_it_stops_and_says_how_to_install_it(fonts, monkeypatch):
    monkeypatch.setattr(
        "preprocess.read.text.text_element.TEXT_EXTRA_MODULES", ("no_such_module_at_all",)
    )
    found = finding(read_sheet(text(), fonts=fonts), "text-needs-extra")
    assert found.severity == "stop"
    assert "pip install 'evenmark[text]'" in found.remedy


def test_drawings_without_text_need_no_extra_and_open_no_font():
    code = (
        "import sys\n"
        "for name in ('uharfbuzz', 'fontTools', 'bidi'): sys.modules[name] = None\n"
        "from preprocess.read.reader import read\n"
        "from preprocess.model.options.reading import ReadingOptions\n"
        'svg = b\'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm">\'\n'
        "reading = read(svg + b'<rect width=\"5\" height=\"5\"/></svg>', 'x', ReadingOptions())\n"
        "assert len(reading.artwork.shapes) == 1 and not reading.font_files\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_the_files_that_letters_came_from_are_known(folder, fonts):
    reading = read_sheet(text() + text(more='font-weight="bold"'), fonts=fonts)
    assert reading.font_files == (folder / "fern-test-bold.ttf", folder / "fern-test.ttf")


def test_fonts_of_the_folder_hide_installed_ones(tmp_path, folder, monkeypatch):
    system = tmp_path / "system"
    system.mkdir()
    (system / "other.ttf").write_bytes(font_bytes("Fern Test", style="Bold", weight=700))
    (system / "moss.ttf").write_bytes(font_bytes("Moss"))
    monkeypatch.setattr(catalogue, "installed_folders", lambda: [system])
    shelf = FontCatalogue(Fonts(folder=str(folder)))
    (face,) = shelf.choose(FontRequest(("Fern Test",), weight=700)).faces
    assert face.path.parent == folder
    (face,) = shelf.choose(FontRequest(("Moss",))).faces
    assert face.path.parent == system
    assert FontCatalogue(Fonts(installed=False)).choose(FontRequest(("Moss",))).missing == ("Moss",)


@pytest.mark.parametrize("name", ["sans-serif", "system-ui", "DejaVu Sans"])
def test_generic_families_are_the_same_everywhere(name, tmp_path):
    (tmp_path / "b.ttf").write_bytes(font_bytes("Arial"))
    (tmp_path / "a.ttf").write_bytes(font_bytes("DejaVu Sans"))
    choice = FontCatalogue(Fonts(folder=str(tmp_path), installed=False)).choose(
        FontRequest((name,))
    )
    assert [face.label for face in choice.faces] == ["DejaVu Sans Regular"]


def carried(family, weight, data):
    packed = base64.b64encode(data).decode()
    source = f"url('https://x.test/a.woff2'), url(data:font/ttf;base64,{packed}) format('truetype')"
    rule = f"@font-face{{font-family:'{family}';font-weight:{weight};src:{source}}}"
    return f"<style>rect{{}}{rule}</style>"


def test_a_font_that_the_drawing_carries_is_used_under_its_name_there(fonts):
    bold = carried("Seed Words", "700", font_bytes(style="Bold", weight=700))
    plain = carried("Seed Words", "normal", font_bytes())
    reading = read_sheet(bold + plain + text(family="seed words"), fonts=fonts)
    assert painted(reading).bounds == pytest.approx((11, 43, 13, 50))
    more = 'font-weight="800"'
    reading = read_sheet(bold + plain + text(family="Seed Words", more=more), fonts=fonts)
    assert painted(reading).bounds == pytest.approx((12, 43, 14, 50))
    assert reading.font_files == ()


@pytest.mark.parametrize("data", [b"", b"no font", font_bytes()[:300]])
def test_a_damaged_font_in_the_drawing_counts_as_missing(data, fonts):
    reading = read_sheet(
        carried("Seed Words", "400", data) + text(family="Seed Words"), fonts=fonts
    )
    assert "font-missing" in codes(reading)


def test_names_of_one_face_find_it(fonts):
    shelf = FontCatalogue(fonts)
    (face,) = shelf.choose(FontRequest(("FernTest-Bold",))).faces
    assert face.label == "Fern Test Bold"


def test_files_are_found_in_the_same_order_below_folders(tmp_path):
    for name in ("b/z.ttf", "a.OTF", "b/a.ttc", "c.txt"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"")
    assert [p.relative_to(tmp_path).as_posix() for p in font_files(tmp_path)] == [
        "a.OTF",
        "b/a.ttc",
        "b/z.ttf",
    ]


def test_a_font_packed_for_the_web_is_unpacked(tmp_path):
    font = TTFont(BytesIO(font_bytes("Packed")))
    font.flavor = "woff"
    font.save(tmp_path / "packed.woff")
    (face,) = font_faces(tmp_path / "packed.woff")
    assert face.families == {"packed"}


def face(weight=400.0, width=100.0, *, slanted=False, to=None):
    return Face(
        path=Path("x.ttf"),
        index=0,
        label="x",
        families=frozenset(),
        full_names=frozenset(),
        weight=(weight, to or weight),
        width=(width, width),
        slanted=slanted,
        axes=frozenset(),
    )


# CSS Fonts 4, section 5.2: wanted weight, weights at hand, the one that it names.
@pytest.mark.parametrize(
    ("wanted", "held", "expected"),
    [
        (400, [300, 500, 700], 500),
        (400, [100, 300, 600], 300),
        (500, [400, 600], 400),
        (500, [300, 600], 300),
        (300, [100, 200, 400], 200),
        (300, [400, 900], 400),
        (700, [400, 600, 900], 900),
        (700, [400, 600], 600),
        (900, [100, 800], 800),
    ],
)
def test_the_nearest_weight(wanted, held, expected):
    found = best_face([face(weight) for weight in held], FontRequest((), weight=wanted))
    assert found.weight[0] == expected


def test_width_goes_before_slant_and_slant_before_weight():
    narrow, upright = face(width=75.0), face(width=100.0)
    slanted = face(700.0, slanted=True)
    assert best_face([narrow, upright], FontRequest((), width=75.0)) is narrow
    assert best_face([upright, slanted], FontRequest((), slanted=True)) is slanted
    assert best_face([slanted, upright], FontRequest((), weight=700.0)) is upright
    assert best_face([face(100.0, to=900.0), upright], FontRequest((), weight=700.0)).weight == (
        100.0,
        900.0,
    )


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("Fern Test, serif", ("Fern Test", "serif")),
        ("'Fern Test',\"A, B\"", ("Fern Test", "A, B")),
        ("  Moss   Green ,, x", ("Moss Green", "x")),
        ("", ()),
    ],
)
def test_family_lists(written, expected):
    assert parse_font_families(written) == expected


def test_the_shorthand_sets_all_that_it_names_and_resets_the_rest():
    found = dict(font_longhands("italic 700 12px/1.5 'Fern Test', serif"))
    assert found == {
        "font-style": "italic",
        "font-weight": "700",
        "font-variant": "normal",
        "font-stretch": "normal",
        "font-size": "12px",
        "font-family": "'Fern Test', serif",
    }
    assert dict(font_longhands("bold")) == {}
