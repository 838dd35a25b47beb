"""One drawing and a table of values: a label to each row, or a sentence with file, row, column."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from preprocess.cli.files import load_recipe_alone
from preprocess.errors import UserError
from preprocess.read.text import text_element
from preprocess.recipe.load import load_recipe
from preprocess.series.keys import key_of_design
from preprocess.series.log import read_log
from preprocess.series.runner import Series, run_series
from preprocess.series.tasks import Products, run_task
from preprocess.series.values import label_designs, read_values
from tests.read.lettering import font_bytes
from tests.series.beds import BENCH, RECIPE, leaf

TEXT = """\
fonts: {folder: fonts, installed: false}
text:
  - {element: "#name", column: plant, fit: {width: 20 mm}}
  - {element: "#number", serial: {from: 7, digits: 3}, optional: true}
names_from: file
"""
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">'
    '<g font-family="Fern Test" font-size="5"><text id="name" x="2" y="8">plant</text>'
    "</g></svg>"
)
VALUES = "file,plant\nshade,fern\nsun,fe\n"


@pytest.fixture
def nursery(tmp_path, monkeypatch):
    """A folder with recipe, machine, font and drawing, and we are in it."""
    monkeypatch.chdir(tmp_path)
    font = font_bytes(more=True)
    for name, text in {"label.yaml": RECIPE + TEXT, "bench.yaml": BENCH, "l.svg": DRAWING}.items():
        Path(name).write_text(text, "utf-8")
    for name in ("fonts", "out"):
        Path(name).mkdir()
    Path("fonts/fern.ttf").write_bytes(font)
    Path("values.csv").write_text(VALUES, "utf-8")
    return tmp_path


def evenmark(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "preprocess", *arguments],
        capture_output=True,
        text=True,
        check=False,
        timeout=100,
    )


def designs(values: str, recipe: str = RECIPE + TEXT):
    loaded = load_recipe(Path("label.yaml"), recipe)
    return label_designs(loaded.recipe, read_values(values, "values.csv"), Path("l.svg"))


@pytest.mark.usefixtures("nursery")
def test_each_row_is_a_design():
    shade, sun = designs(VALUES)
    assert (shade.name, sun.name) == ("shade", "sun")
    assert [one.text for one in shade.texts] == ["fern", "007"]
    assert [one.text for one in sun.texts] == ["fe", "008"]
    assert shade.title == "l.svg: shade"


@pytest.mark.usefixtures("nursery")
def test_without_a_column_for_names_rows_are_numbered():
    values = "plant\n" + "fern\n" * 12
    found = designs(values, RECIPE + TEXT.replace("names_from: file\n", ""))
    assert [one.name for one in found][::11] == ["l-01", "l-12"]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.usefixtures("nursery")
def test_quotes_blank_lines_and_other_separators(separator):
    values = f'file{separator}plant\r\n\r\na{separator}"fern , ; ""x"""\r\n'
    (one,) = designs(values)
    assert one.texts[0].text == 'fern , ; "x"'


BAD = {
    "no such column": ("file,plnt\na,fern\n", "values.csv:1: there is no column 'plant'"),
    "nearest name": ("file,plnt\na,fern\n", "did you mean plnt?"),
    "empty value": ("file,plant\na,fern\nb,\n", "values.csv:3:2: plant is empty; fill it in"),
    "twice": ("file,plant\na,fern\nA,fe\n", "values.csv:3:1: the name 'A' stands in line 2"),
    "slash": ("file,plant\na/b,fern\n", "values.csv:2:1: 'a/b' cannot be the name of a file"),
    "backslash": ("file,plant\na\\b,fern\n", "cannot be the name of a file: it holds \\"),
    "parent": ("file,plant\n..,fern\n", "values.csv:2:1: '..' cannot be"),
    "hidden": ("file,plant\n.a,fern\n", "values.csv:2:1: '.a' cannot be"),
    "option": ("file,plant\n-a,fern\n", "values.csv:2:1: '-a' cannot be"),
    "system": ("file,plant\nCON,fern\n", "values.csv:2:1: 'CON' cannot be"),
    "bell": ("file,plant\na,fe\x07rn\n", "values.csv:2:2: plant holds a character that cannot"),
    "name bell": ("file,plant\na\x1b[2J,fern\n", "it holds a character that cannot be shown"),
    "turned": ("file,plant\na,\u202efern\n", "(U+202E)"),
    "new line": ('file,plant\na,"fe\nrn"\n', "values.csv:2:2: plant holds"),
    "after new line": ('file,plant\n"a\nb",fern\nc,\n', "values.csv:4:2: plant is empty"),
    "short row": ("file,plant\na\n", "values.csv:2: this row has 1 fields"),
    "long row": ("file,plant\na,b,c\n", "values.csv:2: this row has 3 fields"),
    "no rows": ("file,plant\n", "there are no rows of values"),
    "empty": ("", "the table of values is empty"),
    "column twice": ("file,plant,file\na,fern,b\n", "values.csv:1:3: two columns are called"),
    "no name": ("file,plant,\na,fern,b\n", "values.csv:1:3: this column has no name"),
    "open quote": ('file,plant\na,"fern\n', "values.csv:2: not readable as values"),
    "long name": (f"file,plant\n{'a' * 101},fern\n", "longer than 100 bytes"),
}


@pytest.mark.parametrize("name", BAD)
@pytest.mark.usefixtures("nursery")
def test_what_is_wrong_is_placed(name):
    values, words = BAD[name]
    with pytest.raises(UserError) as caught:
        designs(values)
    assert words in str(caught.value)
    assert all(complaint.remedy for complaint in caught.value.complaints)


@pytest.mark.usefixtures("nursery")
def test_all_that_is_wrong_is_said_at_once_up_to_a_point():
    with pytest.raises(UserError) as caught:
        designs("file,plant\n" + "".join(f"a{n},\n" for n in range(50)))
    assert len(caught.value.complaints) == 21
    assert "and 30 more" in str(caught.value.complaints[-1])


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ("text: [{element: '#a'}]", "label.yaml:2:8: text: no text is given"),
        ("text: [{element: '#a', value: x, column: y}]", "value and column stand side by side"),
        ('text: [{element: "#a", value: "a\\eb"}]', "value holds a character that cannot be shown"),
        ("text: [{element: 'g[', value: x}]", "'g[' is no CSS selector"),
        ("text: [{element: '#a', value: x, fit: {width: 0 mm}}]", "must be above 0 mm"),
        ("text: [{element: '#a', code: 1+1}]", "unknown key 'code'"),
        ("names_from: a", "names_from names a column, but no text is filled in"),
    ],
)
def test_recipes_that_cannot_be(lines, words):
    with pytest.raises(UserError) as caught:
        load_recipe(Path("label.yaml"), f"recipe: 1\n{lines}\n")
    assert words in str(caught.value)


@pytest.mark.usefixtures("nursery")
def test_the_command():
    arguments = ("series", "label.yaml", "l.svg", "-d", "out", "--values", "values.csv")
    options = ("--no-heat", "--report", "--workers", "1")
    first = evenmark(*arguments, *options)
    assert first.returncode == 0, first.stderr
    assert "2 done" in first.stderr
    made = {path.name for path in Path("out").iterdir()}
    assert made == {"series.jsonl", *(f"{n}.{e}" for n in ("shade", "sun") for e in ENDINGS)}
    assert Path("out/shade.laser.svg").read_bytes() != Path("out/sun.laser.svg").read_bytes()
    said = json.loads(Path("out/sun.report.json").read_text("utf-8"))["recipe_as_run"]["text"]
    assert [rule["value"] for rule in said] == ["fe", "008"]
    Path("values.csv").write_text(VALUES.replace("sun,fe", "sun,fr"), "utf-8")
    again = evenmark(*arguments, *options)
    assert "1 done, 1 unchanged" in again.stderr
    assert set(read_log(Path("out"))) == {"l.svg: shade", "l.svg: sun"}


ENDINGS = ("laser.svg", "report.json")


@pytest.mark.usefixtures("nursery")
def test_a_row_that_is_too_long_stops_no_other():
    Path("values.csv").write_text(f"file,plant\na,{'fern' * 9}\nb,fern\n", "utf-8")
    done = evenmark(
        "series", "label.yaml", "l.svg", "-d", "out", "--values", "values.csv", "--no-heat"
    )
    assert done.returncode == 1
    assert "l.svg: a: one text is too wide" in done.stderr
    assert Path("out/b.laser.svg").exists()
    assert not Path("out/a.laser.svg").exists()


@pytest.mark.usefixtures("nursery")
def test_a_single_run_has_values_but_no_columns():
    done = evenmark("run", "label.yaml", "l.svg", "--no-heat")
    assert done.returncode == 1
    assert "the column 'plant' has no values here; use evenmark series with" in done.stderr
    Path("label.yaml").write_text(
        (RECIPE + TEXT).replace("column: plant", "value: fern").replace("names_from: file", "")
    )
    assert evenmark("run", "label.yaml", "l.svg", "--no-heat").returncode == 0


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda _: Path("l.svg").write_text("<svg"), "l.svg:1"),
        (lambda _: Path("l.svg").unlink(), "there is no such file"),
        (
            lambda _: Path("l.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"/>'),
            "matches nothing",
        ),
        (
            lambda patch: patch.setattr(text_element, "TEXT_EXTRA_MODULES", ("no_such_module",)),
            "the libraries that shape text are missing; pip install 'evenmark[text]'",
        ),
    ],
)
@pytest.mark.usefixtures("nursery")
def test_what_is_wrong_with_every_label_is_told_once_before_any_work(monkeypatch, spoil, says):
    def pool(_):
        raise AssertionError("work was begun")

    loaded = load_recipe_alone("label.yaml")
    table = read_values("file,plant\n" + "".join(f"a{n},fern\n" for n in range(9)), "values.csv")
    labels = label_designs(loaded.recipe, table, Path("l.svg"))
    wanted = Series(loaded=loaded, designs=labels, wants=Products(heat=False), folder=Path("new"))
    spoil(monkeypatch)
    with pytest.raises(UserError, match=re.escape(says)) as caught:
        list(run_series(wanted, pool))
    assert len(caught.value.complaints) == 1
    assert not Path("new").exists()


def one_by_one(designs):
    """A pool that works in this process."""
    return ((number, run_task(task)) for number, task in designs)


OUT_OF_RANGE = RECIPE.replace("power: 50 %", "power: 2 %") + TEXT
BENCH_FROM_5 = BENCH + "power: {from: 5 %}\n"


@pytest.mark.usefixtures("nursery")
def test_what_stops_the_drawing_itself_stops_the_series_at_the_first_label():
    Path("bench.yaml").write_text(BENCH_FROM_5, "utf-8")
    Path("l.svg").write_text(DRAWING.replace("<g ", '<path d="M5 12h9v5z"/><g '), "utf-8")
    loaded = load_recipe(None, OUT_OF_RANGE)
    labels = designs("file,plant\n" + "".join(f"a{n},fern\n" for n in range(9)), OUT_OF_RANGE)
    wanted = Series(loaded=loaded, designs=labels, wants=Products(heat=False), folder=Path("out"))
    with pytest.raises(UserError, match=r"no label can be made, whatever its texts: .*2 %") as told:
        list(run_series(wanted, one_by_one))
    assert len(told.value.complaints) == 1
    assert list(read_log(Path("out"))) == ["l.svg: a0"]


@pytest.mark.usefixtures("nursery")
def test_the_same_reason_is_told_once_with_the_number_of_designs():
    Path("bench.yaml").write_text(BENCH_FROM_5, "utf-8")
    Path("bed.yaml").write_text(RECIPE.replace("power: 50 %", "power: 2 %"), "utf-8")
    for number in range(5):
        Path(f"leaf-{number}.svg").write_text(leaf(8.0 + number), "utf-8")
    done = evenmark("series", "bed.yaml", "leaf-*.svg", "-d", "out", "--no-heat", "--workers", "1")
    assert done.returncode == 1
    assert done.stderr.count("leaf-0.svg: ") == 1
    assert "error: 4 more, for the same reason: " in done.stderr
    assert done.stderr.count(" 2 % power") == 2
    assert len(read_log(Path("out"))) == 5


@pytest.mark.usefixtures("nursery")
def test_a_label_is_the_same_wherever_its_row_stands():
    plain = "".join(line for line in TEXT.splitlines(keepends=True) if "serial" not in line)
    tables = ("file,plant\na,fern\nb,moss\n", "file,plant\nb,moss\n")
    one, other = (designs(table, RECIPE + plain)[-1] for table in tables)
    assert key_of_design("", b"", one) == key_of_design("", b"", other)
    one, other = (designs(table)[-1] for table in tables)
    assert key_of_design("", b"", one) != key_of_design("", b"", other), "its number differs"
