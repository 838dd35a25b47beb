"""``evenmark fit`` with tones beside words: both count, and words stay in charge."""

import csv
from dataclasses import replace

import numpy as np
import pytest
import yaml

from preprocess.calibrate.grades.trials import merge_trials, read_profile, read_trials
from preprocess.calibrate.tones.toned_places import toned_places
from preprocess.coupon.artwork.build import build
from preprocess.coupon.paper.files import coupon_files
from preprocess.photo.measured import MeasuredCoupon, MeasuredPlace
from preprocess.photo.measured_file import measured_bytes
from tests.cli.inside import evenmark
from tests.photos.known import known_photo
from tests.simulated_users import BELIEVED, first_coupon

PHOTO = known_photo("moss.jpg", "cd" * 32)


def words(coupon):
    """Grades by power alone: weak, even and heavy."""
    powers = sorted({cell.power for cell in coupon.cells})
    said = dict(zip(powers, ("weak", "even", "heavy"), strict=True))
    return {cell.name: said[cell.power] for cell in coupon.cells}


def measured(coupon, tone):
    """Tones of every cell by power, speed and span."""
    return MeasuredCoupon(
        coupon=coupon.id,
        ground=58.0,
        photos=(PHOTO,),
        places=tuple(
            MeasuredPlace(
                cell=cell.name, span=cell.size["span"], tone=tone(cell), ln_ratio=-0.4, sd=0.4
            )
            for cell in coupon.cells
        ),
    )


def steady(cell):
    """Darker with power over speed, and where rows are short."""
    heat = np.log(cell.power) - 0.85 * np.log(cell.speed / 400) - 0.04 * np.log(cell.size["span"])
    return float(-45 * (1 - np.exp(-np.exp(2.2 * (heat + 1.2)))))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A graded coupon with its tones, and the profile fitted to both."""
    place = tmp_path_factory.mktemp("toned")
    coupon = build(first_coupon())
    for path, data in coupon_files(first_coupon(), place / "moss.svg").data.items():
        path.write_bytes(data)
    table = place / "moss.grades.csv"
    rows = list(csv.reader(table.read_text().splitlines()))
    said = words(coupon)
    for row in rows[1:]:
        row[-1] = said[row[1]]
    with table.open("w", newline="") as file:
        csv.writer(file).writerows(rows)
    (place / "moss.measured.json").write_bytes(measured_bytes(measured(coupon, steady)))
    return place


@pytest.fixture(scope="module")
def fitted(folder):
    """Output of the command; the profile and the plot lie in the folder."""
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        from preprocess.calibrate.fit.diagnostics import diagnose
        from preprocess.calibrate.fit.fit import fit_filament
        from preprocess.calibrate.fit.profile import fitted_profile, profile_bytes
        from preprocess.calibrate.grades.trials import collect_trials
        from preprocess.calibrate.report.plot import even_band_svg

        _, trials, _ = collect_trials([folder / "moss.grades.csv"], folder / "none.yaml", None)
        fit = fit_filament(trials, BELIEVED)
        profile = fitted_profile(fit)
        (folder / "moss.yaml").write_bytes(profile_bytes(profile, trials))
        return fit, trials, diagnose(fit), even_band_svg(fit, profile).decode()


def test_photo_digest_and_table_stand_in_the_trials(folder, fitted):
    filament, (trial,) = read_profile(folder / "moss.yaml")
    assert (trial,) == fitted[1]
    assert read_trials(filament) == (trial,)
    assert [(p.name, p.sha256) for p in trial.tones.photos] == [("moss.jpg", "cd" * 32)]
    assert len(trial.tones.places) == 12
    (line,) = yaml.safe_load((folder / "moss.yaml").read_text())["trials"]
    assert line["tones"]["ground"] == 58.0


def test_words_are_kept_as_they_were(fitted):
    trial = fitted[1][0]
    said = {name: str(grade[0]) for name, grade in trial.grades.items()}
    assert said == words(build(first_coupon()))


def test_tones_count_as_what_was_known_before_the_grades(fitted):
    fit = fitted[0]
    assert fit.tones is not None
    assert fit.tones.left_out == 0
    assert fit.model.told.mean == pytest.approx(fit.tones.mean)
    # two speeds: tones that follow power / speed^0.85 tell the exponent better than the prior
    assert fit.posterior.sd()[4] < 0.1
    assert not [one for one in fitted[2] if one.code.startswith("tones-")]


def test_the_plot_shows_what_the_fit_leaves(fitted):
    assert "tones along blades" in fitted[3]
    assert "Measured less fitted tone" in fitted[3]


def test_molten_cells_tell_no_heat_by_their_tone(fitted):
    (trial,) = fitted[1]
    cell = next(iter(trial.grades))
    molten = replace(trial, grades={**trial.grades, cell: ("molten",)})
    names = toned_places([molten], BELIEVED).names
    assert len(names) == 11
    assert cell not in {name for _, name in names}


def test_tones_stay_when_only_words_come_anew(fitted):
    (trial,) = fitted[1]
    (kept,), again = merge_trials([trial], [replace(trial, tones=None)])
    assert kept.tones == trial.tones
    assert again == (trial.coupon,)


def test_tones_that_jump_about_are_told_and_left_out(folder, tmp_path, monkeypatch, capsys):
    coupon = build(first_coupon())
    for path in folder.glob("moss.*"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    (tmp_path / "moss.yaml").unlink(missing_ok=True)
    jumping = dict(zip([c.name for c in coupon.cells], [-3, -30, -8] * 4, strict=True))
    wild = measured(coupon, lambda cell: float(jumping[cell.name]))
    (tmp_path / "moss.measured.json").write_bytes(measured_bytes(wild))
    monkeypatch.chdir(tmp_path)
    code, _, error = evenmark(
        monkeypatch, capsys, "fit", "moss.grades.csv", "-o", "moss.yaml", "--quiet"
    )
    assert code == 0
    assert "follow no steady curve" in error
