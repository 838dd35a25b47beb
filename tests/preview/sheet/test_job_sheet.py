"""The job sheet against the written file, read and measured by other code."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from typer.testing import CliRunner

from preprocess.cli.app import app
from preprocess.findings import note, warn
from preprocess.model.artwork.output import output_layers
from preprocess.pipeline import make_sheet
from preprocess.preview.sheet.findings_view import ON_PAPER
from preprocess.preview.sheet.job_sheet import job_sheet_html
from preprocess.preview.sheet.sheet_job import SheetJob
from preprocess.recipe.load import load_recipe
from tests import written_svg as written
from tests.labels import fern_label
from tests.preview.sheet.job_sheets import NAMES, made
from tests.preview.sheet.sheet_page import NUMBER, fact, label, numbers, page_of, rows_of, text_of

PART = {"fern": (84.0, 30.0), "moth": (60.0, 52.0)}
"""Width and height of the labels in the middle of their pages, from the scripts that draw them."""


@pytest.fixture(scope="module", params=NAMES)
def job(request):
    got = made(request.param)
    size, layers = written.read(got.result.data)
    return got, page_of(got.html), size, layers


def test_swatches_and_names_are_those_of_the_file(job) -> None:
    _, page, _, layers = job
    rows = rows_of(page)
    assert [row["swatch"] for row in rows] == [layer.colour for layer in layers]
    assert [row["name"] for row in rows] == [layer.title for layer in layers]
    said = [text_of(one) for one in page.find_class("colour")]
    assert all(layer.colour in words for layer, words in zip(layers, said, strict=False))


def test_areas_and_lengths_are_those_of_the_file(job) -> None:
    _, page, _, layers = job
    for row, layer in zip(rows_of(page), layers, strict=True):
        said = sum(numbers(row["amount"].replace("mm²", "mm")))
        meant = layer.area if layer.filled else layer.length
        assert ("mm²" in row["amount"]) == layer.filled
        assert said == pytest.approx(meant, abs=0.11), layer.title


def test_settings_are_those_of_the_recipe(job) -> None:
    got, page, _, _ = job
    recipe, solved = got.loaded.recipe, []
    names = [step.name for step in got.loaded.steps]
    for row, output in zip(rows_of(page), output_layers(got.result.after), strict=True):
        rule = next(rule for rule in recipe.layers if rule.name == output.layer)
        plain = recipe.settings[output.operation]
        power = rule.settings.power or plain.power
        powers = [step.params.powers for step in got.loaded.steps if step.name == "tag-power"]
        if powers and output.level:
            power *= powers[0][output.level - 1]
        rounds = "interleave" in names and output.operation == "engrave"
        if rounds:  # solved: whole steps of the machine, and the mean stays
            power = output.settings.power
            solved.append(power)
        assert numbers(row["Power"])[-1] == pytest.approx(100 * power, abs=0.005)
        assert numbers(row["Power"])[0] == round(100 * power)  # the machine's steps are of 1 %
        assert numbers(row["Speed"]) == [plain.speed]
        assert row["Operation"] == output.operation
        if output.operation == "engrave":
            assert numbers(row["Pitch"]) == [plain.pitch]
            assert row["Rows"] == ("two-way, 0°" if rounds else "one-way, 0°")
        else:
            assert row["Pitch"] == row["Rows"] == "–"
        assert row["Repeats"] == "1"
    if solved:
        assert np.exp(np.log(solved).mean()) == pytest.approx(0.96, abs=0.0051)


def test_times_are_those_of_the_file(job) -> None:
    got, page, _, layers = job
    machine, total = got.loaded.machine, 0.0
    outputs = output_layers(got.result.after)
    for row, layer, output in zip(rows_of(page), layers, outputs, strict=True):
        (said,) = numbers(row["Expected time"])
        if layer.filled:
            swept = [written.sweep_time(p, output.settings, machine) for p in layer.paths]
            least, hops = sum(swept), len(swept) - 1
            most = least + hops * (machine.turnaround + 0.03)  # a hop is at most 75 mm
        else:
            least = most = written.trace_time(layer, output.settings, machine)
        assert 0.99 * least - 0.051 <= said <= 1.01 * most + 0.051, layer.title
        total += said
    words = fact(page, "Expected time").split(" of marking")[0]
    values = numbers(words)
    seconds = 60 * values[0] + values[1] if "min" in words else values[0]
    pauses = machine.layer_pause * (len(layers) - 1)
    assert seconds == pytest.approx(total + pauses, abs=0.05 * len(layers) + 0.7)
    assert f"about {len(layers)} min to type in {len(layers)}" in fact(page, "Expected time")


def test_sizes_and_places_are_those_of_the_file(job) -> None:
    got, page, size, layers = job
    points = np.concatenate([layer.points for layer in layers])
    (left, top), (right, bottom) = points.min(axis=0), points.max(axis=0)
    assert numbers(fact(page, "Page of the file"))[:2] == [pytest.approx(one) for one in size]
    assert "width and height of the drawing" in fact(page, "Page of the file")
    wide, high, x, y = numbers(fact(page, "Art and bars"))
    assert (wide, high) == (
        pytest.approx(right - left, abs=0.006),
        pytest.approx(bottom - top, abs=0.006),
    )
    assert (x, y) == (pytest.approx(left, abs=0.006), pytest.approx(top, abs=0.006))
    part = PART[got.loaded.design.stem]
    assert numbers(fact(page, "Part"))[:2] == [pytest.approx(one, abs=1e-6) for one in part]
    away = size[1] / 2 - (top + bottom) / 2  # labels lie in the middle of their pages
    said = fact(page, "Part's centre")
    assert size[0] / 2 == pytest.approx((left + right) / 2, abs=1e-3)
    assert numbers(said)[:1] == [pytest.approx(abs(away), abs=6e-4)]
    assert ("above" if away < 0 else "below") in said


def test_the_checklist_names_the_numbers_of_the_file(job) -> None:
    got, page, size, layers = job
    text = text_of(page.find_class("work")[0])
    points = np.concatenate([layer.points for layer in layers])
    wide, high = points.max(axis=0) - points.min(axis=0)
    measure = re.search(rf"Art and bars measure ({NUMBER}) × ({NUMBER}) mm", text)
    assert [float(one) for one in measure.groups()] == [
        pytest.approx(v, abs=6e-3) for v in (wide, high)
    ]
    for words in (
        "Lens clean",
        "Marking beam off",
        "Focus",
        "Extraction",
        "No bare or reflective",
        "Clips",
    ):
        assert words in text
    card = re.search(rf"card under the bars, larger than ({NUMBER}) × ({NUMBER}) mm", text)
    beside = bars(layers, size, PART[got.loaded.design.stem])
    assert (card is not None) == (len(beside) > 0)
    if card:
        extent = beside.max(axis=0) - beside.min(axis=0)
        assert [float(one) for one in card.groups()] == [pytest.approx(v, abs=6e-3) for v in extent]


def bars(layers, size, part) -> np.ndarray:
    """Points of the rings that lie beside the part."""
    left, right = (size[0] - part[0]) / 2, (size[0] + part[0]) / 2
    rings = [sub for layer in layers if layer.filled for path in layer.paths for sub in path]
    beside = [ring for ring in rings if (ring[:, 0] < left).all() or (ring[:, 0] > right).all()]
    return np.concatenate(beside) if beside else np.empty((0, 2))


def test_row_figures_are_those_of_the_file(job) -> None:
    got, page, _, layers = job
    machine = got.loaded.machine
    for profile in page.find_class("profile"):
        name = profile.find("h3").text
        after = text_of(profile).split("After: ")[1]
        mine = [
            (layer, output)
            for layer, output in zip(layers, output_layers(got.result.after), strict=True)
            if output.layer == name and layer.filled
        ]
        wide, returns = [], []
        for layer, output in mine:
            for path in layer.paths:
                rows = np.diff(written.spans(path, output.settings.pitch)).ravel()
                wide.extend(rows)
                row_times = rows / output.settings.speed + rows / machine.fly_back
                returns.extend(row_times[:-1] + machine.turnaround)
        said = numbers(after.split(" mm wide")[0])
        assert said[0] == pytest.approx(len(wide), rel=0.005)
        assert said[1] == pytest.approx(min(wide), abs=0.03)
        assert said[-1] == pytest.approx(max(wide), abs=0.006)
        if len(mine) > 1 and "interleave" in [step.name for step in got.loaded.steps]:
            assert "no row beside another of the same sweep" in after
            continue
        soonest = float(re.search(rf"back after ({NUMBER}) ms", after)[1])
        assert soonest == pytest.approx(1e3 * min(returns), rel=0.01)


def test_guides_are_listed_and_not_numbered() -> None:
    page = page_of(made("fern/fern").html)
    (guide,) = page.find_class("guide")
    assert text_of(guide) == "guide not in the file helpers guide: not marked nothing to type in"
    numbered = [text_of(one.find_class("number")[0]) for one in page.find_class("step")]
    assert numbered == ["1", "2", "3", "4", "5", "6"]


def test_heat_is_that_of_the_report(job) -> None:
    got, page, _, _ = job
    table = page.find_class("figures")[0]
    for row, prediction in zip(table.findall("tbody/tr"), got.predicted, strict=True):
        heat, even = prediction.heat, prediction.objective.likely
        said = [numbers(text_of(cell))[0] for cell in row.findall("td")]
        places = [abs(100 * (place - 1)) for place in (even.hot, even.cold)]
        shares = [100 * share for share in (even.beyond, heat.too_weak, heat.too_heavy)]
        assert said[0] == pytest.approx(heat.median, abs=0.0051)
        assert said[1:3] == [pytest.approx(place, abs=0.51) for place in places]
        assert said[3:] == [pytest.approx(share, abs=0.051) for share in shares]


def test_every_finding_is_told_with_its_remedy(job) -> None:
    got, page, _, _ = job
    told = [text_of(one) for one in page.find_class("findings")[0].iter("li")]
    found = (*got.result.findings, *got.predicted[1].findings)
    assert len(told) <= len(found)
    for finding in found:
        head, _, ending = " ".join(finding.message.split()).partition(": ")
        assert any(head in one and ending in one and finding.remedy in one for one in told)
    ranks = [["stop", "warn", "note"].index(one.split()[0]) for one in told]
    assert ranks == sorted(ranks)


def test_what_is_said_of_several_layers_is_told_in_one_entry_with_its_places() -> None:
    tips = [note("tip-inset", f"1 tip of {n} moved inward", "") for n in ("fronds", "seeds")]
    hot = [warn("too-heavy", f"{n} is hot: index 1.3", "a lower power") for n in "ab"]
    text_ = sheet_text(job_sheet_html(label(findings=[*tips, *hot])))
    assert text_ == [
        "warn a is hot; b is hot: index 1.3; a lower power.",
        "note 1 tip of fronds moved inward; 1 tip of seeds moved inward.",
    ]


def sheet_text(html: bytes) -> list[str]:
    return [text_of(one) for one in page_of(html).find_class("findings")[0].iter("li")]


def test_the_recipe_on_the_sheet_runs_as_the_one_it_came_from(job) -> None:
    got, page, _, _ = job
    said = page.find_class("recipe")[0].find("pre").text
    assert load_recipe(None, said).as_run == got.loaded.as_run
    assert got.loaded.filament.name in fact(page, "Filament")
    assert "evenmark" in text_of(page.find("body/footer"))


def test_the_same_bytes_come_out_again() -> None:
    got = made("fern/fern")
    assert make_sheet(got.result, got.loaded, got.loaded.design.name, got.predicted) == got.html


def test_what_is_not_known_is_said() -> None:
    bare = replace(fern_label(), parts=())
    page = page_of(job_sheet_html(label(before=bare, after=bare)))
    assert fact(page, "Part") == "not known"
    assert fact(page, "Filament").startswith("not known")
    assert fact(page, "Machine") == "not known"
    assert "Not computed" in text_of(page.get_element_by_id("heat").getparent())
    assert text_of(page.get_element_by_id("findings").getparent()) == "Findings None."


def test_no_line_can_end_between_a_number_and_its_unit(job) -> None:
    _, page, _, _ = job
    for copied in [*page.iter("pre"), *page.iter("style"), *page.iter("script")]:
        copied.text = ""
    told = page.text_content()
    assert re.search(r"\d\N{NO-BREAK SPACE}%", told)
    assert re.findall(r"\d (?:%|mm|s|ms|W)\b.{9}", told) == []


def test_the_datum_of_the_picture_is_that_of_the_head() -> None:
    got = made("moth/moth-apart")
    bench = replace(got.result.bench, machine=replace(got.loaded.machine, field=None))
    told = SheetJob(
        title="moth.svg",
        before=got.result.before,
        after=got.result.after,
        bench=bench,
        colours=got.result.colours,
    )
    page = page_of(job_sheet_html(told))
    keys = [text_of(one) for one in page.find_class("keys")[0].iter("li")]
    (shown,) = (one for one in keys if "datum" in one)
    assert numbers(shown) == [
        pytest.approx(v, abs=0.051) for v in numbers(fact(page, "Datum of the card"))
    ]
    assert len(numbers(shown)) == 4


def test_paper_says_how_many_findings_it_leaves_out() -> None:
    found = made("fern/fern").result.findings
    many = tuple(replace(found[0], code=f"leaf-{n}") for n in range(ON_PAPER + 5))
    page = page_of(job_sheet_html(label(findings=many)))
    assert len(page.find_class("unprinted")) == 5
    assert page.find_class("printed")[0].text == "And 5 more, on the screen and in the report."


def test_the_command_writes_it_beside_the_rest(tmp_path) -> None:
    drawing = tmp_path / "seed.svg"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">'
        '<circle cx="10" cy="10" r="5"/></svg>',
        "utf-8",
    )
    recipe = tmp_path / "seed.yaml"
    settings = "{engrave: {power: 50 %, speed: 900 mm/s, pitch: 0.1 mm}}"
    recipe.write_text(f"recipe: 1\nsettings: {settings}\npasses: [merge]\n", "utf-8")
    out, target = tmp_path / "seed.laser.svg", tmp_path / "seed.html"
    command = ["run", str(recipe), str(drawing), "-o", str(out), "--no-heat", "--quiet"]
    done = CliRunner().invoke(app, [*command, "--sheet", str(target)])
    assert done.exit_code == 0, done.output
    page = page_of(target.read_bytes())
    assert [row["name"] for row in rows_of(page)] == ["artwork"]
    assert "Not computed" in text_of(page.get_element_by_id("heat").getparent())
    assert "--sheet" in CliRunner().invoke(app, ["run", "--help"]).output
    clash = CliRunner().invoke(app, [*command, "--sheet", str(drawing)])
    assert clash.exit_code == 1 or clash.exception is not None
    assert drawing.read_text("utf-8").startswith("<svg")


def test_graded_cells_are_counted_and_not_printed() -> None:
    cells = [{"cell": f"A{n}", "grade": "even"} for n in range(240)]
    recipe = {"recipe": 1, "filament": {"name": "moss-green PETG", "trials": cells}}
    loaded = made("fern/fern").loaded
    html = make_sheet(made("fern/fern").result, replace(loaded, as_run=recipe), "fern.svg")
    assert b"240 graded cells, listed in the profile" in html
    assert b"cell: A7" not in html
