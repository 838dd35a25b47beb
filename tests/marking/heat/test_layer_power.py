"""Remedies are followed to the letter: the power that is named is set, and simulated again."""

import re

import pytest

from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from preprocess.remedies.tried_prediction import predict_output

LABEL = """\
<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
  <path id="edge" d="M0 0H60V40H0Z" fill="none" stroke="#000" stroke-width="0.1"/>
  <g id="fronds">{fronds}</g>
  <g id="seeds">{seeds}</g>
</svg>
"""

FROND = '<path d="M6 8Q30 2 54 8Q44 26 31 36Q18 26 6 8Z"/>'
SEED = '<circle cx="{x}" cy="{y}" r="0.8"/>'
SEEDS = "".join(SEED.format(x=4 + 2.6 * n, y=30 + n % 3) for n in range(5))

RECIPE = """\
recipe: 1
machine: bench.yaml
filament: moss.yaml
part: {{outline: "#edge", thickness: 2.4 mm}}
layers:
  - name: fronds
    operation: engrave
    choose: {{label: fronds}}
    settings: {{power: {power} %}}
  - name: seeds
    operation: engrave
    choose: {{label: seeds}}
    settings: {{power: {seeds} %}}
settings:
  engrave: {{speed: 800 mm/s, pitch: 0.1 mm, direction: one-way, angle: 0 deg}}
passes: [merge]
"""

BENCH = """\
machine: 1
name: bench
field: [110 mm, 110 mm]
spot: 0.08 mm
turnaround: 0.0012 s
fly_back: 2500 mm/s
power: {from: 5 %, to: %TO %, step: 1 %}
raster_groups: each-colour
"""

MOSS = """\
filament: 1
name: moss
polymer: PLA
optical_depth: 0.05 mm
spread: 0.4 mm
reference: {size: [8 mm, 8 mm], power: 60 %, speed: 800 mm/s, pitch: 0.1 mm, direction: one-way}
window: {weak: 0.86, heavy: 1.15, molten: 1.5}
"""


def marked(folder, *, power, seeds=60, to=100, fronds=FROND, dots=SEEDS, filament=MOSS, speed=800):
    (folder / "bench.yaml").write_text(BENCH.replace("%TO", str(to)))
    (folder / "moss.yaml").write_text(filament)
    text = RECIPE.format(power=power, seeds=seeds).replace("speed: 800", f"speed: {speed}")
    if not dots:
        text = re.sub(r"  - name: seeds\n(    .*\n)+", "", text)
    (folder / "label.yaml").write_text(text)
    loaded = load_recipe(folder / "label.yaml")
    design = LABEL.format(fronds=fronds, seeds=dots).encode()
    result = convert(loaded, design, "label.svg")
    return predict_output(result.drawn, result.after, result.bench)


def outside(prediction, layer, weak=0.86, heavy=1.15):
    """Counted cell by cell, each by its own area."""
    area = bad = 0.0
    for image in prediction.heat.images:
        if image.output == layer:
            for index, weight in zip(*lit(image), strict=True):
                area += weight
                bad += weight * (index < weak or index > heavy)
    return bad / area


def lit(image):
    return image.index[image.lit], image.cell * image.share[image.lit]


def named(prediction, layer):
    """The powers that remedies name for a layer, in per cent."""
    found = [f for f in prediction.findings if f.layer == layer]
    said = [re.search(r"set ([0-9.]+) % for the whole layer", f.remedy or "") for f in found]
    return sorted({float(one[1]) for one in said if one})


@pytest.mark.parametrize("power", [35, 95])
def test_the_power_that_is_named_leaves_less_outside_and_no_opposite_remedy(tmp_path, power):
    first = marked(tmp_path, power=power, dots="")
    (wanted,) = named(first, "fronds")
    assert wanted == int(wanted)
    assert (wanted > power) == (power < 60)
    second = marked(tmp_path, power=int(wanted), dots="")
    assert named(second, "fronds") == []
    now, then = outside(first, "fronds"), outside(second, "fronds")
    assert then < now - 0.3
    (layer,) = [f for f in first.findings if f.code == "layer-power"]
    assert layer.message.startswith(f"{100 * now:.3g} % of fronds")
    assert f"{100 * then:.3g} % of it is predicted outside then" in layer.remedy


def test_layers_that_warm_one_another_are_followed_together(tmp_path):
    first = marked(tmp_path, power=35, seeds=90)
    (fronds,), (seeds,) = (named(first, layer) for layer in ("fronds", "seeds"))
    assert fronds > 35
    assert seeds < 90
    second = marked(tmp_path, power=int(fronds), seeds=int(seeds))
    for layer in ("fronds", "seeds"):
        assert outside(second, layer) < outside(first, layer)
        assert named(second, layer) == []


def test_no_power_beyond_the_machines_range_is_named(tmp_path):
    free = marked(tmp_path, power=35, dots="")
    to = int(35 * 0.9 / free.heat.median)  # most of the leaf is within the window, not at its best
    first = marked(tmp_path, power=35, to=to, dots="")
    assert named(first, "fronds") == [to] < named(free, "fronds")
    (layer,) = [f for f in first.findings if f.code == "layer-power"]
    assert f"set {to} % and " in layer.remedy or "interleave" in layer.remedy
    top = marked(tmp_path, power=to, to=to, dots="")
    assert named(top, "fronds") == []


def test_a_layer_at_the_machines_highest_power_is_to_be_marked_slower(tmp_path):
    top = marked(tmp_path, power=30, to=30, dots="")
    (layer,) = [f for f in top.findings if f.code == "layer-power"]
    (speed,) = re.findall(r"set 30 % and ([0-9.]+) mm/s for the whole layer", layer.remedy)
    slow = marked(tmp_path, power=30, to=30, dots="", speed=float(speed))
    then = outside(slow, "fronds")
    assert then < outside(top, "fronds") - 0.3
    assert f"{100 * then:.3g} % of it is predicted outside then" in layer.remedy


def test_a_layer_is_never_told_both_to_raise_and_to_lower(tmp_path):
    """A wide leaf and hair-thin fronds of one layer: no power suits both."""
    hairs = "".join(f'<path d="M{56 + n} 4h0.25v30h-0.25z"/>' for n in range(3))
    for power in (30, 55, 80, 100):
        found = marked(tmp_path, power=power, fronds=FROND + hairs, dots="")
        assert len(named(found, "fronds")) <= 1
        for finding in found.findings:
            raises = finding.code == "too-weak" and "whole layer and" in finding.remedy
            assert not raises or named(found, "fronds")[0] > power
            lowers = finding.code == "too-heavy" and "whole layer and" in finding.remedy
            assert not lowers or named(found, "fronds")[0] < power


def test_a_higher_power_that_would_melt_a_place_says_so_first(tmp_path):
    first = marked(tmp_path, power=35, dots="")
    (remedy,) = [f.remedy for f in first.findings if f.code == "layer-power"]
    (wanted,) = named(first, "fronds")
    hottest = first.heat.largest * wanted / 35
    assert (hottest > 1.15) == (f"hottest place at {hottest:.2f}" in remedy)


def test_without_grades_no_power_is_named_for_a_single_layer(tmp_path):
    """Limits are relative to the median then, which moves with the power."""
    raw = "filament: 1\nname: moss\npolymer: PLA\n"
    first = marked(tmp_path, power=35, dots="", filament=raw)
    assert named(first, "fronds") == []
