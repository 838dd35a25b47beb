"""``evenmark fit`` and ``evenmark equivalents`` as a person runs them, up to a job after both."""

import csv
import json
import shutil
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from tests.cli.inside import evenmark
from tests.simulated_users import first_coupon

GRADES = [*["weak"] * 2, "even", "heavy", *["even"] * 2, "heavy", *["molten"] * 5]

RECIPE = """recipe: 1
design: leaf.svg
machine: {name: bench galvo, spot: 0.08 mm, turnaround: 1.2 ms, fly_back: 2500 mm/s}
filament: moss.yaml
part: {outline: [30 mm, 20 mm]}
settings: {engrave: {power: 30 %, speed: SPEED, pitch: 0.1 mm, direction: one-way}}
passes: [merge]
"""

LEAF = """<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="12mm" viewBox="0 0 20 12">
  <path id="leaf" d="M1 1 H WIDE V9 H1 Z"/>
</svg>
"""


@pytest.fixture(scope="module")
def graded(tmp_path_factory):
    """A folder with the files of a coupon, its table filled in."""
    from preprocess.coupon.paper.files import coupon_files

    folder = tmp_path_factory.mktemp("graded")
    for path, data in coupon_files(first_coupon(), folder / "first.svg").data.items():
        path.write_bytes(data)
    fill(folder / "first.grades.csv", GRADES)
    return folder


def fill(path, grades):
    """Grade the cells in the order of their names, wherever their rows stand."""
    rows = list(csv.reader(path.read_text().splitlines()))
    for row, grade in zip(sorted(rows[1:], key=lambda row: row[1]), grades, strict=True):
        row[-1] = grade
    with path.open("w", newline="") as file:
        csv.writer(file).writerows(rows)


@pytest.fixture
def bench(graded, tmp_path, monkeypatch, capsys):
    """Runs a command in a copy of the folder; gives exit code, standard output and error."""
    shutil.copytree(graded, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)

    def run(*arguments):
        return evenmark(monkeypatch, capsys, *arguments)

    return run


def test_a_graded_coupon_becomes_a_profile_a_plot_and_the_next_coupon(bench, tmp_path):
    code, out, err = bench(
        "fit", "first.grades.csv", "-o", "moss.yaml", "--graded", "2026-11-20", "--name",
        "moss-green PETG, spool 3", "--plot", "band.svg", "--next", "second.svg",
    )  # fmt: skip
    assert code == 0
    assert "12 grades of 12 cells (2 weak, 3 even, 2 heavy, 5 molten)" in out
    assert "never say that a setting is safe" in out
    for name in ("moss.yaml", "band.svg", "second.svg", "second.coupon.yaml", "second.grades.csv"):
        assert f"wrote {name}" in err
        assert (tmp_path / name).exists()
    profile = (tmp_path / "moss.yaml").read_text()
    assert "name: moss-green PETG, spool 3\n" in profile
    assert "machine: bench galvo\n" in profile
    assert "graded: '2026-11-20'" in profile

    drawn = ET.parse(tmp_path / "band.svg").getroot()
    groups = {g.get("id"): g for g in drawn.iter("{http://www.w3.org/2000/svg}g")}
    marks = [
        p for p in groups["speed"] if p.get("stroke") == "#222222" and p.get("d").endswith("Z")
    ]
    assert len(marks) == len(GRADES)

    rows = list(csv.DictReader((tmp_path / "second.grades.csv").read_text().splitlines()))
    assert 6 <= len(rows) <= 12
    fill(tmp_path / "second.grades.csv", ["even", "heavy"] * (len(rows) // 2))
    code, out, err = bench("fit", "second.grades.csv", "-o", "moss.yaml")
    assert code == 0
    assert f"{12 + len(rows)} grades of {12 + len(rows)} cells" in out
    assert (tmp_path / "moss.yaml").read_text().count("- {coupon: power-speed-") == 2
    assert "name: moss-green PETG, spool 3\n" in (tmp_path / "moss.yaml").read_text()


def test_the_same_grades_give_the_same_bytes(bench, tmp_path):
    bench("fit", "first.grades.csv", "-o", "moss.yaml", "--plot", "band.svg", "--quiet")
    first = [(tmp_path / name).read_bytes() for name in ("moss.yaml", "band.svg")]
    again = ("fit", "first.grades.csv", "-o", "moss.yaml", "--plot", "band.svg", "--verbose")
    code, _, err = bench(*again)
    assert code == 0
    assert "was graded before; these grades replace the old ones" in err
    assert [(tmp_path / name).read_bytes() for name in ("moss.yaml", "band.svg")] == first


@pytest.mark.parametrize(
    ("grades", "sentence"),
    [
        (
            ["even"] * 12,
            "error: all 12 graded cells are even, so the grades do not tell where even",
        ),
        ([""] * 12, "error: no cell is graded; grade the cells"),
        (["", "even", *[""] * 10], "error: only one cell is graded"),
    ],
)
def test_what_tells_nothing_is_said_and_the_old_profile_stays(bench, tmp_path, grades, sentence):
    (tmp_path / "moss.yaml").write_text("filament: 1\nname: moss\n")
    fill(tmp_path / "first.grades.csv", grades)
    code, out, err = bench("fit", "first.grades.csv", "-o", "moss.yaml")
    assert code == 1
    assert out == ""
    assert err.startswith(sentence)
    assert err.count("\n") == 1
    assert (tmp_path / "moss.yaml").read_text() == "filament: 1\nname: moss\n"


def test_a_wrong_id_and_a_missing_row_name_file_and_line(bench, tmp_path):
    table = tmp_path / "first.grades.csv"
    lines = table.read_text().splitlines()
    table.write_text("\n".join([*lines[:3], "power-speed-00000000" + lines[3][20:], *lines[5:]]))
    code, _, err = bench("fit", "first.grades.csv", "-o", "moss.yaml")
    assert code == 1
    assert "first.grades.csv:4" in err
    assert "no coupon 'power-speed-00000000'" in err
    lacking = sorted(line.split(",")[1] for line in lines[3:5])
    assert f"lacks rows for {', '.join(lacking)}" in err
    assert not (tmp_path / "moss.yaml").exists()


@pytest.mark.parametrize(
    ("arguments", "code", "sentence"),
    [
        (["fit", "first.grades.csv"], 1, "no profile is named"),
        (["fit"], 1, "evenmark fit first.grades.csv -o moss.yaml"),
        (["fit", "-o", "new.yaml"], 1, "no grades are named"),
        (["fit", "no.csv", "-o", "new.yaml"], 1, "there is no such file"),
        (["fit", "first.grades.csv", "-o", "first.grades.csv"], 1, "first.grades.csv"),
        (["fit", "first.grades.csv", "-o", "p.yaml", "--graded", "20 November"], 2, "2026-11-20"),
        (["fit", "--compare", "one.yaml"], 2, "name two profiles"),
        (["equivalents", "no.yaml"], 1, "there is no such file"),
    ],
)
def test_wrong_calls_get_one_sentence(bench, arguments, code, sentence):
    found, _, err = bench(*arguments)
    assert found == code
    assert sentence in err
    assert "Traceback" not in err


def test_a_damaged_trial_is_told_with_its_line(bench, tmp_path):
    bench("fit", "first.grades.csv", "-o", "moss.yaml", "--quiet")
    text = (tmp_path / "moss.yaml").read_text().replace("[weak]", "[week]", 1)
    (tmp_path / "moss.yaml").write_text(text)
    line = next(n for n, held in enumerate(text.splitlines(), 1) if "week" in held)
    code, _, err = bench("equivalents", "moss.yaml")
    assert code == 1
    assert f"moss.yaml:{line}:" in err
    assert "week" in err


def test_equivalents_tell_powers_by_speed_and_the_exponent(bench):
    bench("fit", "first.grades.csv", "-o", "moss.yaml", "--quiet")
    code, out, _ = bench("equivalents", "moss.yaml", "--speeds", "300mm/s,600mm/s,1200mm/s")
    assert code == 0
    assert [line.split()[0] for line in out.splitlines()[1:4]] == ["300", "600", "1200"]
    assert "power n = " in out
    assert "* No cell was graded at this speed" in out
    _, out, _ = bench("equivalents", "moss.yaml", "--json")
    told = json.loads(out)
    assert told["machine"] == "bench galvo"
    assert 0.3 < told["exponent"] < 1.1


def test_equivalents_of_an_ungraded_filament_say_so(bench, tmp_path):
    (tmp_path / "bare.yaml").write_text("filament: 1\nname: bare\n")
    code, out, _ = bench("equivalents", "bare.yaml")
    assert code == 0
    assert "Uncalibrated" in out


def test_two_profiles_are_compared(bench, tmp_path):
    bench("fit", "first.grades.csv", "-o", "moss.yaml", "--quiet")
    fill(
        tmp_path / "first.grades.csv",
        ["weak"] * 8 + ["even"] * 3 + ["heavy"],
    )
    bench("fit", "first.grades.csv", "-o", "slate.yaml", "--quiet")
    code, out, _ = bench("fit", "--compare", "moss.yaml", "slate.yaml")
    assert code == 0
    assert "Both are PETG, but another colour absorbs the laser differently" in out
    assert "reference power" in out


def test_a_job_beyond_what_was_graded_is_told(bench, tmp_path):
    bench("fit", "first.grades.csv", "-o", "moss.yaml", "--quiet")
    (tmp_path / "job.yaml").write_text(RECIPE.replace("SPEED", "600 mm/s"))
    (tmp_path / "leaf.svg").write_text(LEAF.replace("WIDE", "7"))
    code, out, err = bench("predict", "job.yaml")
    assert code == 0
    assert "beyond" not in err
    assert "graded cells" not in err
    assert "uncalibrated" not in out
    (tmp_path / "leaf.svg").write_text(LEAF.replace("WIDE", "19"))
    (tmp_path / "job.yaml").write_text(RECIPE.replace("SPEED", "1200 mm/s"))
    _, _, err = bench("predict", "job.yaml", "--verbose")
    assert "has speed of 1200 mm/s but graded cells have 300 to 600 mm/s" in err
    assert "100 % long rows, up to 18 mm, but graded cells have 2 to 8 mm" in err


def test_a_coupon_of_another_spool_is_not_joined_in_silence(bench, tmp_path):
    from preprocess.coupon.paper.files import coupon_files

    assert bench("fit", "first.grades.csv", "-o", "moss.yaml")[0] == 0
    definition = first_coupon()
    slate = replace(definition, filament=replace(definition.filament, name="slate PETG"))
    for path, data in coupon_files(slate, tmp_path / "slate.svg").data.items():
        path.write_bytes(data)
    fill(tmp_path / "slate.grades.csv", GRADES)
    code, _, err = bench("fit", "slate.grades.csv", "-o", "moss.yaml", "--verbose")
    assert code == 0
    said = " ".join(err.split())
    assert "is of 'slate PETG', other grades of 'moss-green PETG'" in said
    assert "fit it into a profile of its own" in said


def test_a_spool_that_was_given_a_name_is_still_the_same(bench):
    bench("fit", "first.grades.csv", "-o", "moss.yaml", "--name", "moss, spool 3")
    code, _, err = bench("fit", "first.grades.csv", "-o", "moss.yaml")
    assert code == 0
    assert "another colour" not in err


def test_the_trials_of_two_people_are_fitted_together_after_a_merge(bench, tmp_path):
    from preprocess.calibrate.grades.trials import read_profile
    from preprocess.coupon.paper.files import coupon_files

    definition = replace(first_coupon(), plate=(70.0, 50.0))
    for path, data in coupon_files(definition, tmp_path / "other.svg").data.items():
        path.write_bytes(data)
    fill(tmp_path / "other.grades.csv", GRADES)
    for name in ("first", "other"):
        assert bench("fit", f"{name}.grades.csv", "-o", f"{name}.yaml")[0] == 0
    mine, theirs = ((tmp_path / f"{name}.yaml").read_text() for name in ("first", "other"))
    merged = mine + theirs[theirs.index("trials:\n") + len("trials:\n") :]
    (tmp_path / "first.yaml").write_text(merged)
    code, out, _ = bench("fit", "-o", "first.yaml")
    assert code == 0
    assert "24 grades of 24 cells" in out
    assert len(read_profile(tmp_path / "first.yaml")[1]) == 2


def test_the_short_table_quotes_the_long_one():
    from tests.walkthrough import ROOT

    def rows(page):
        lines = (ROOT / "docs" / "use" / page).read_text("utf-8").splitlines()
        cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
        return [one for one in cells if len(one) > 3 and one[1].rstrip(" %").isdigit()]

    whole = [(row[2], row[4], row[7]) for row in rows("fit.md") if len(row) == 8]
    short = [tuple(row[1:]) for row in rows("coupons.md") if len(row) == 4]
    assert len(short) == 4
    assert short == whole


def test_a_spool_gets_another_name_without_new_grades(bench, tmp_path):
    (tmp_path / "leaf.svg").write_text(LEAF.replace("WIDE", "9"))
    bench("fit", "first.grades.csv", "-o", "moss.yaml")
    renamed = (tmp_path / "moss.yaml").read_text().replace("name: moss-green PETG", "name: fern", 1)
    (tmp_path / "moss.yaml").write_text(renamed)
    (tmp_path / "job.yaml").write_text(RECIPE.replace("SPEED", "600 mm/s"))
    said = bench("check", "job.yaml")[2]
    assert "the grades are of 'moss-green PETG', but the part is of 'fern'" in " ".join(
        said.split()
    )
    assert bench("fit", "-o", "moss.yaml", "--name", "fern")[0] == 0
    assert "the grades are of" not in bench("check", "job.yaml")[2]
