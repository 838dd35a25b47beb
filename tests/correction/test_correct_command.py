"""``evenmark correct`` as a person runs it: recipe, mark, photo, next recipe."""

import json

import numpy as np
import pytest
import yaml

from preprocess.photo.map_grid import grid_of, index_map
from preprocess.photo.measured import MeasuredCoupon, MeasuredJob
from preprocess.photo.measured_file import measured_bytes
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from tests.cli.inside import evenmark
from tests.photos.known import known_photo

RECIPE = """recipe: 1
design: stake.svg
machine: {name: bench galvo, spot: 0.08 mm, turnaround: 1.2 ms, fly_back: 2500 mm/s}
filament: {name: moss-green PLA, polymer: PLA, tried: {power: [20 %, 60 %]}}
part: {outline: [30 mm, 30 mm]}
settings: {engrave: {power: 40 %, speed: 400 mm/s, pitch: 0.1 mm}}
passes: [{tag-power: {by: row-span, levels: 2, powers: [100 %, 80 %]}}]
"""
STAKE = """<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="30mm" viewBox="0 0 30 30">
  <path id="stake" d="M2 2 H22 V12 H14 V26 H10 V12 H2 Z"/>
</svg>
"""
PHOTO = known_photo("stake.jpg", "ab" * 32)


@pytest.fixture
def bench(tmp_path, monkeypatch, capsys):
    """A folder with recipe and drawing; runs commands in it."""
    (tmp_path / "stake.yaml").write_text(RECIPE)
    (tmp_path / "stake.svg").write_text(STAKE)
    monkeypatch.chdir(tmp_path)

    def run(*arguments):
        return evenmark(monkeypatch, capsys, *arguments)

    run.folder = tmp_path
    return run


def measured(folder, *, heat=True):
    """What was measured of the stake: its narrow half is 20 % hotter than it should be."""
    loaded = load_recipe(folder / "stake.yaml")
    result = convert(loaded, (folder / "stake.svg").read_bytes(), "stake.svg")
    x, y = np.meshgrid(0.1 + 0.2 * np.arange(150), 0.1 + 0.2 * np.arange(150))
    body = (x > 2.4) & (x < 21.6) & (y > 2.9) & (y < 12)
    stem = (x > 10.4) & (x < 13.6) & (y >= 12) & (y < 25.6)
    index = np.where(body, 1.0, np.where(stem, 1.2, np.nan))
    wider = np.where(body, 1.0, np.where(stem, 1.3, np.nan))
    noise = np.random.default_rng(2).normal(0, 0.3, x.shape)
    excess = -30 * np.log(index) if heat else 2 * np.sin(2 * np.pi * x / 1.1)
    return MeasuredJob(
        name="stake.yaml",
        drawing=result.digest,
        origin=(0.1, 0.1),
        step=0.2,
        ground=60.0,
        photos=(PHOTO,),
        tone=np.where(body | stem, -20 + excess + noise, np.nan),
        index=index,
        wider=wider,
        noise=0.3,
    )


def test_the_next_recipe_has_less_power_where_it_was_hot(bench):
    (bench.folder / "stake.measured.json").write_bytes(measured_bytes(measured(bench.folder)))
    code, out, _ = bench("correct", "stake.yaml", "stake.measured.json", "-o", "next.yaml")
    assert code == 0
    held = yaml.safe_load((bench.folder / "next.yaml").read_text())
    wide, narrow = (float(power.rstrip(" %")) for power in held["passes"][0]["tag-power"]["powers"])
    # the stem is 20 % hotter: 80 % of 40 % times 1.2^-0.8 is 27.7 %, to steps of 1 % of the machine
    assert wide == pytest.approx(100.0, abs=3)
    assert narrow * 0.4 == pytest.approx(27.7, abs=1.3)
    assert held["corrections"] == 1
    assert "follows the drawing" in out
    assert "on scrap first" in out
    code, _, error = bench("check", "next.yaml")
    assert code == 0, error


def test_the_record_keeps_the_chain(bench):
    bench("run", "stake.yaml", "--record", "record", "-o", "stake.laser.svg")
    (bench.folder / "stake.measured.json").write_bytes(measured_bytes(measured(bench.folder)))
    code, *_ = bench(
        "correct", "stake.yaml", "stake.measured.json", "-o", "next.yaml", "--record", "record"
    )
    assert code == 0
    (entry,) = (bench.folder / "record").glob("*.yaml")
    (line,) = yaml.safe_load(entry.read_text())["marked"]
    assert line["photos"] == {"stake.jpg": "ab" * 32}
    assert line["measured"] == "stake.measured.json"
    assert line["next_recipe"] == "next.yaml"
    code, out, _ = bench("log")
    assert code == 0
    assert "next.yaml" in out


def test_lines_of_the_print_are_not_corrected(bench):
    job = measured(bench.folder, heat=False)
    (bench.folder / "stake.measured.json").write_bytes(measured_bytes(job))
    code, _, error = bench("correct", "stake.yaml", "stake.measured.json", "-o", "next.yaml")
    assert code == 1
    assert "heat is no cause" in error
    assert not (bench.folder / "next.yaml").exists()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda text: text.split("passes:")[0] + "passes: [merge]\n", "another drawing today"),
        (lambda text: text + "corrections: 2\n", "corrected 2 times already"),
    ],
)
def test_another_recipe_or_a_third_round_is_refused(bench, change, said):
    job = measured(bench.folder)
    recipe = bench.folder / "stake.yaml"
    recipe.write_text(change(RECIPE))
    if "corrections" in recipe.read_text():
        job = measured(bench.folder)
    (bench.folder / "stake.measured.json").write_bytes(measured_bytes(job))
    code, _, error = bench("correct", "stake.yaml", "stake.measured.json")
    assert code == 1
    assert said in error


def test_a_coupon_is_for_fit(bench):
    coupon = MeasuredCoupon(coupon="blades-1", ground=60.0, photos=(PHOTO,), places=())
    (bench.folder / "moss.measured.json").write_bytes(measured_bytes(coupon))
    code, _, error = bench("correct", "stake.yaml", "moss.measured.json")
    assert code == 1
    assert "this is a coupon" in error


def test_figures_for_scripts(bench):
    (bench.folder / "stake.measured.json").write_bytes(measured_bytes(measured(bench.folder)))
    code, out, _ = bench("correct", "stake.yaml", "stake.measured.json", "--json")
    assert code == 0
    said = [json.loads(line) for line in out.splitlines()]
    found = next(one for one in said if "powers" in str(one))
    assert "heat" in json.dumps(found)


SOLVED = """recipe: 1
design: stake.svg
machine: {name: bench galvo, spot: 0.08 mm, turnaround: 1.2 ms, fly_back: 2500 mm/s,
  grey: {from: 5 %, to: 100 %, gamma: 1}}
filament: moss.yaml
part: {outline: [20 mm, 18 mm]}
settings: {engrave: {power: 60 %, speed: 400 mm/s, pitch: 0.1 mm}}
passes: [merge, WAY]
"""
SMALL = """<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="18mm" viewBox="0 0 20 18">
  <path id="stake" d="M2 2 H18 V8 H11.5 V16 H8.5 V8 H2 Z"/>
</svg>
"""
MOSS = """filament: 1
name: moss-green PLA
polymer: PLA
spread: 0.3 mm
density: 1.3 g/cm3
"""


@pytest.mark.parametrize(
    "way", ["{tag-power: {by: heat, levels: 4}}, solve-power", "{grey: {images: 1}}"]
)
def test_a_recipe_that_solves_its_powers_is_solved_for_the_spread_of_the_part(bench, way):
    solved = SOLVED.replace("WAY", way)
    (bench.folder / "stake.yaml").write_text(solved)
    (bench.folder / "stake.svg").write_text(SMALL)
    (bench.folder / "moss.yaml").write_text(MOSS)
    result = convert(
        load_recipe(bench.folder / "stake.yaml"),
        (bench.folder / "stake.svg").read_bytes(),
        "stake.svg",
    )
    grid = grid_of((2, 2, 18, 16))
    index, warm = index_map(result.after, result.bench, grid)
    wider, _ = index_map(result.after, result.bench, grid, spread=0.6)
    log = np.where(warm, np.log(wider), np.nan)
    noise = np.random.default_rng(3).normal(0, 0.2, log.shape)
    job = MeasuredJob(
        name="stake.yaml",
        drawing=result.digest,
        origin=grid.origin,
        step=grid.step,
        ground=60.0,
        photos=(PHOTO,),
        tone=-25 - 40 * (log - np.nanmedian(log)) + noise,
        index=index,
        wider=wider,
        noise=0.2,
    )
    (bench.folder / "stake.measured.json").write_bytes(measured_bytes(job))
    code, out, error = bench("correct", "stake.yaml", "stake.measured.json", "-o", "next.yaml")
    assert code == 0, error
    assert "where the recipe believed 0.3 mm" in out
    assert "on scrap first" in out
    held = yaml.safe_load((bench.folder / "next.yaml").read_text())
    assert held["passes"] == yaml.safe_load(solved)["passes"]
    assert (held["filament"], held["corrections"]) == ("next.filament.yaml", 1)
    moss = yaml.safe_load((bench.folder / "next.filament.yaml").read_text())
    spread = float(moss["spread"].removesuffix(" mm"))
    # the tones are those of 0.6 mm, without any other cause
    assert spread == pytest.approx(0.6, rel=0.25)
    low, high = (float(end.removesuffix(" mm")) for end in moss["intervals"]["spread"])
    assert low < 0.6 < high
    assert moss["density"] == "1.3 g/cm3"
    code, _, error = bench("check", "next.yaml")
    assert code == 0, error
