"""What holds a file back: stops, warnings when strict, and a file that is read back otherwise."""

from __future__ import annotations

from pathlib import Path

import pytest

from preprocess import pipeline
from preprocess.passes.equalize_width import equalize_width
from preprocess.pipeline import BrokenPromise, convert
from preprocess.recipe.load import recipe_from_mapping
from preprocess.write.svg.svg_document import svg_bytes
from tests.written_layers import read_back_shapes

DRAWING = b"""<svg xmlns="http://www.w3.org/2000/svg"
width="60mm" height="40mm" viewBox="0 0 60 40">
<path id="blade" d="M15 20 Q30 8 45 20 Q30 32 15 20 Z"/></svg>"""

WITH_CLIP = DRAWING.replace(
    b"</svg>", b'<rect id="clip" x="28" y="2" width="3" height="16"/></svg>'
)


def made(*, strict=False, passes=("merge",), design=DRAWING, **more):
    recipe = {
        "recipe": 1,
        "machine": {"name": "bench", "field": ["90 mm", "90 mm"], "spot": "0.06 mm"},
        "part": {"outline": ["40 mm", "30 mm"]},
        "settings": {"engrave": {"power": "30 %", "speed": "300 mm/s", "pitch": "0.1 mm"}},
        "passes": list(passes),
        **more,
    }
    return convert(recipe_from_mapping(recipe, folder=Path()), design, "label.svg", strict=strict)


def test_progress_is_told_after_reading_and_after_each_step():
    heard = []
    loaded = recipe_from_mapping({"recipe": 1, "passes": ["merge", "split"]}, folder=Path())
    convert(loaded, DRAWING, "label.svg", tell=lambda: heard.append(1))
    assert len(heard) == 3


def test_a_good_job_is_written():
    assert made().data is not None
    assert made(strict=True).data is not None


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"machine": {"field": ["20 mm", "20 mm"]}}, "off-the-field"),
        ({"filament": {"name": "PVC sheet"}}, "chlorinated-plastic"),
        ({"machine": {"power": {"to": "20 %"}}}, "power-out-of-range"),
        ({"machine": {"speed": {"to": "200 mm/s"}}}, "speed-out-of-range"),
        ({"machine": {"max_points": 5}}, "too-many-points"),
        ({"keep_off": ["#clip"], "design": WITH_CLIP}, "on-keep-off"),
    ],
)
def test_a_stop_holds_the_file_back(changed, code):
    result = made(**changed)
    assert result.data is None
    assert result.findings[0].code == code  # the worst comes first
    assert result.findings[0].severity == "stop"


def test_a_warning_holds_it_back_only_when_strict():
    beyond = {"part": {"outline": ["20 mm", "30 mm"]}}
    assert made(**beyond).data is not None
    assert made(strict=True, **beyond).data is None


@pytest.mark.parametrize(
    ("old", "new"),
    [(b"#0072b2", b"#0072b3"), (b'"evenodd"', b'"nonzero"'), (b"M", b"M1 "), (b"mm", b"in")],
)
def test_a_file_that_is_read_back_otherwise_never_leaves(monkeypatch, old, new):
    def damaged(artwork, **how):
        data = svg_bytes(artwork, **how)
        assert old in data
        return data.replace(old, new, 1)

    monkeypatch.setattr(pipeline, "svg_bytes", damaged)
    with pytest.raises(BrokenPromise, match="not what was meant"):
        made()


def test_a_pass_that_does_not_account_for_what_it_does_is_caught(monkeypatch):
    monkeypatch.setattr(equalize_width, "_changes", lambda _: ())
    with pytest.raises(BrokenPromise, match="ledger of step 2"):
        made(passes=("merge", "equalize-width"))


def test_the_page_grows_alike_on_both_sides_and_is_written_from_its_corner():
    result = made(passes=("merge", {"equalize-width": {"clearance": "14 mm"}}))
    page = result.after.page
    # bars reach 40/2 + 14 + 0.6 mm from the middle: 4.6 mm beyond a page of 60 mm, and rounding
    assert page.left == pytest.approx(-4.7)
    assert page.width == pytest.approx(60 + 2 * 4.7)
    assert page.centre == pytest.approx((30.0, 20.0))
    text = result.data.decode()
    assert 'width="69.4mm"' in text
    # the blade began 15 mm from the old corner: now 19.7 mm from the new one
    (shape,) = read_back_shapes(result.data).values()
    lefts = sorted(polygon.bounds[0] for polygon in shape.geoms)
    assert lefts[0] == pytest.approx(69.4 / 2 - 34.6, abs=2e-3)  # the left bar
    assert any(left == pytest.approx(19.7, abs=1e-3) for left in lefts)
