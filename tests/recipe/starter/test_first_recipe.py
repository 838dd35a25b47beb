"""The first recipe: its numbers are those of the drawing, and it runs as it stands."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from xml.sax.saxutils import quoteattr

import pytest

from preprocess.errors import UserError
from preprocess.marking.evenness.objective import objective_of_artwork
from preprocess.model.artwork.settings import Direction, Operation
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from preprocess.recipe.starter.drawing_measures import measure_drawing
from preprocess.recipe.starter.first_recipe import first_recipe
from preprocess.recipe.starter.shape_groups import MOST_OUTPUTS

JOBS = Path(__file__).parents[3] / "fixtures" / "jobs"
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">'


def drawing(body: str) -> bytes:
    return f"{HEAD}{body}</svg>".encode()


def text_for(data: bytes) -> str:
    return first_recipe(measure_drawing(data, "seed.svg"), "seed.svg", "seed.svg")


def layers(data: bytes) -> dict[str, Operation]:
    return {rule.name: rule.operation for rule in load_recipe(None, text_for(data)).options.layers}


def runs(data: bytes, text: str | None = None) -> bool:
    loaded = load_recipe(None, text_for(data) if text is None else text)
    return convert(loaded, data, "seed.svg").data is not None


@pytest.mark.parametrize("job", ["fern", "moth"])
def test_the_jobs_run_as_they_stand(job: str) -> None:
    assert runs((JOBS / job / f"{job}.svg").read_bytes())


def test_what_is_suggested_in_comments_runs_too() -> None:
    data = (JOBS / "fern" / "fern.svg").read_bytes()
    text = re.sub(r"^# (machine|filament):", r"\1:", text_for(data), flags=re.MULTILINE)
    text = re.sub(r"^  # - (?!place)", "  - ", text, flags=re.MULTILINE)
    loaded = load_recipe(None, text)
    assert [step.name for step in loaded.steps] == [
        "strokes-to-areas",
        "merge",
        "inset-tips",
        "interleave",
        "solve-power",
    ]
    assert loaded.machine is not None
    assert convert(loaded, data, "fern.svg").data is not None


def test_rows_of_unlike_lengths_are_marked_in_rounds_and_even() -> None:
    data = (JOBS / "fern" / "fern.svg").read_bytes()
    text = text_for(data)
    loaded = load_recipe(None, text)
    found, plain = (
        objective_of_artwork(result.after, result.bench)
        for result in (
            convert(loaded, data, "fern.svg"),
            convert(load_recipe(None, text.replace("  - interleave", "  # ")), data, "fern.svg"),
        )
    )
    assert loaded.options.settings[Operation.ENGRAVE].direction is Direction.TWO_WAY
    assert found.likely.hot - 1 < (plain.likely.hot - 1) / 2
    assert 1 - found.likely.cold < (1 - plain.likely.cold) / 4
    assert found.layers == plain.layers


def test_rows_of_like_lengths_stay_one_sweep() -> None:
    text = text_for(drawing('<path d="M2 2h20v10h-20z"/>'))
    assert "\n  - interleave" not in text
    assert load_recipe(None, text).options.settings[Operation.ENGRAVE].direction == "one-way"


def test_software_that_sweeps_whole_colours_is_told_how_many_it_needs() -> None:
    data = (JOBS / "fern" / "fern.svg").read_bytes()
    machine = "machine: {name: bench, raster_groups: each-colour}"
    text = text_for(data).replace("# machine:", f"{machine}\n# ", 1)
    with pytest.raises(UserError, match="one colour is one round"):
        convert(load_recipe(None, text), data, "fern.svg")
    assert "colours: 2, each" in text  # two layers of areas, two of lines, and seven colours
    assert runs(data, text.replace("{colours: 1}", "{colours: 2}"))
    more = text_for(drawing('<path d="M2 2h10l-5 9z"/>'))
    assert "colours: 4, each" in more


def test_figures_of_the_fern_are_those_worked_out_by_hand() -> None:
    found = measure_drawing((JOBS / "fern" / "fern.svg").read_bytes(), "fern.svg")
    assert found.part == "label-edge"
    assert found.edge == pytest.approx((84, 30))
    assert (found.page.width, found.page.height) == pytest.approx((90, 36))
    by_name = {group.name: group for group in found.grouping.groups}
    assert by_name["fronds"].areas == 39
    assert by_name["fronds"].strokes == pytest.approx((0.6,))
    assert by_name["veins"].strokes == pytest.approx([0.16] * 39)


def test_widths_and_rows_of_simple_shapes() -> None:
    # a square of 10 mm, and a plate 3 wide and 2 high that ends in a tip 4 high
    data = drawing('<path d="M2 2h10v10h-10z"/><path d="M20 2h3v2l-1.5 4l-1.5 -4z"/>')
    found = measure_drawing(data, "seed.svg")
    assert found.area == pytest.approx(100 + 6 + 6)
    assert (found.pieces, found.size) == (2, pytest.approx((21, 10)))
    assert found.widest == pytest.approx(10, abs=0.01)
    assert found.thinnest == pytest.approx(3, abs=0.01)
    assert found.tips == 1
    assert found.rows.count == 100
    assert found.rows.shortest == pytest.approx(10)
    assert found.rows.longest == pytest.approx(21)
    # a disc of diameter w that touches both flanks of a tip of half angle a leaves beyond it
    # the kite w² cot a / 4 less the sector w² (π/2 − a) / 4
    half = math.atan(1.5 / 4)
    left = 0.4**2 / 4 * (1 / math.tan(half) - (math.pi / 2 - half))
    assert found.narrow[0.4] == pytest.approx(left, rel=0.02)


def test_strokes_are_parted_at_three_rows() -> None:
    data = drawing(
        '<g id="stems"><path d="M2 2h9" stroke="#123456" stroke-width="0.8" fill="none"/></g>'
        '<g id="hairs"><path d="M2 5h9" stroke="#123456" stroke-width="0.2" fill="none"/></g>'
    )
    assert layers(data) == {"stems": Operation.ENGRAVE, "hairs": Operation.SCORE}
    assert "2 strokes, 0.2 to 0.8 mm wide: 1 become" in text_for(data)
    assert runs(data)


def test_without_layers_of_the_editor_colours_part_the_drawing() -> None:
    data = drawing('<path d="M2 2h3v3z" fill="#2f5d3a"/><path d="M9 2h3v3z" fill="#d06000"/>')
    assert set(layers(data)) == {"colour-2f5d3a", "colour-d06000"}
    assert runs(data)


def test_more_colours_than_the_output_can_tell_apart_make_no_layers() -> None:
    body = [f'<path d="M{2 * i} 2h1v3z" fill="#0000{i:02x}"/>' for i in range(MOST_OUTPUTS + 1)]
    data = drawing("".join(body))
    assert layers(data) == {}
    assert "#000003 (1)" in text_for(data)
    assert runs(data)


@pytest.mark.parametrize(
    "label",
    [
        "a: b #c",
        "'\"",
        "line\nbreak",
        "\u202e",
        "Fr\u00fchling \U0001f33f",
        "no",
        "~",
        "a-1",
        "\x7f",
    ],
)
def test_any_label_can_be_chosen(label: str) -> None:
    mark = quoteattr(label, {"\n": "&#10;", "\x7f": "&#127;"})
    data = (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:n="https://evenmark.invalid/n" '
        'width="40mm" height="20mm" viewBox="0 0 40 20">'
        f'<g n:label={mark}><path d="M2 2h3v3z"/></g>'
        '<g n:label="a"><path d="M9 2h3v3z"/></g></svg>'
    ).encode()
    loaded = load_recipe(None, text_for(data))
    assert json.dumps([rule.choose.label for rule in loaded.options.layers]) == json.dumps(
        [label, "a"]
    )
    result = convert(loaded, data, "seed.svg")
    assert result.data is not None
    assert not [f for f in result.findings if f.code in {"empty-layer", "no-layer-chosen"}]


def test_a_bold_frame_is_no_part() -> None:
    frame = '<path id="frame" d="M1 1h38v18h-38z" fill="none" stroke="#123456" stroke-width="{}"/>'
    seed = '<path d="M9 9h3v3z"/>'
    assert measure_drawing(drawing(frame.format(1) + seed), "seed.svg").part is None
    assert measure_drawing(drawing(frame.format(0.1) + seed), "seed.svg").part == "frame"
    assert measure_drawing(drawing(frame.format(0.1)), "seed.svg").part is None
    assert (
        measure_drawing(drawing(frame.format(0.1) + '<path d="M0 0h9v9z"/>'), "seed.svg").part
        is None
    )


def test_lines_alone_need_no_pass() -> None:
    data = drawing('<path d="M2 5h9" stroke="#123456" stroke-width="0.2" fill="none"/>')
    assert [s.name for s in load_recipe(None, text_for(data)).steps] == ["strokes-to-areas"]
    assert runs(data)


def test_a_font_that_is_not_at_hand_gets_a_substitute() -> None:
    pytest.importorskip("uharfbuzz")
    body = '<text x="2" y="15" font-family="No Such Fern" font-size="9">fern</text>'
    text = text_for(drawing(body))
    assert "fonts: {substitute: sans-serif}" in text
    assert runs(drawing(body), text)
    assert "fonts:" not in text_for(drawing('<path d="M2 2h3v3z"/>'))
