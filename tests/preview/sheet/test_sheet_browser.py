"""The job sheet in a browser: on a phone, on a desk, on paper, for ears and for keys."""

from __future__ import annotations

import pytest

from tests.browser import (
    DESK,
    PAPER,
    PHONE,
    PX_PER_MM,
    chromium,
    clipped_text,
    covered_text,
    expect_readable,
    missing_glyphs,
    needs_chromium,
    only_fonts,
    overflowing,
    printed_pages,
    small_text,
)
from tests.preview.sheet.job_sheets import IN_BROWSERS, made

pytestmark = needs_chromium


@pytest.fixture(scope="module")
def browser():
    with chromium() as opened:
        yield opened


@pytest.fixture(scope="module", params=IN_BROWSERS)
def sheet(request, tmp_path_factory):
    path = tmp_path_factory.mktemp("sheets") / "job.html"
    path.write_bytes(made(request.param).html)
    return path


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_all_can_be_read_on_a_screen(browser, sheet, size) -> None:
    expect_readable(browser, sheet, size)


@pytest.mark.parametrize("paper", PAPER)
def test_it_prints_on_two_pages(browser, sheet, paper) -> None:
    width = round((PAPER[paper][0] - 20) * PX_PER_MM)
    with browser.page(sheet, (width, 900)) as page:
        assert printed_pages(page, paper) <= 2
        page.emulate_media(media="print")
        assert overflowing(page) == []
        assert clipped_text(page) == []
        assert covered_text(page) == []
        assert small_text(page, 7) == []


@pytest.fixture(
    scope="module",
    params=[
        pytest.param(("DejaVuSans.ttf",), id="one wide font"),
        pytest.param(("LiberationSans-Regular.ttf", "DejaVuSansMono.ttf"), id="usual fonts"),
        pytest.param(("DejaVuSansMono.ttf",), id="one fixed-width font"),
    ],
)
def few_fonts(browser, request, tmp_path_factory):
    fonts = only_fonts(tmp_path_factory.mktemp("fonts"), *request.param)
    with chromium(fonts, browser) as opened:
        yield opened


@pytest.mark.parametrize("paper", PAPER)
def test_it_prints_on_two_pages_with_other_fonts(few_fonts, sheet, paper) -> None:
    with few_fonts.page(sheet, DESK) as page:
        assert printed_pages(page, paper) <= 2


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_nothing_stands_in_the_way_of_ears_and_keys(browser, sheet, size) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    with browser.page(sheet, size) as page:
        found = axe.run(page).response["violations"]
        assert [(one["id"], one["impact"], one["nodes"][0]["html"][:80]) for one in found] == []
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.type") == "checkbox"
        page.keyboard.press("Space")
        assert page.evaluate("document.activeElement.checked")


def test_axe_would_notice(browser, tmp_path) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    bad = tmp_path / "bad.html"
    bad.write_text("<p style='color:#bbb'>pale</p><input type=checkbox>", "utf-8")
    with browser.page(bad, DESK) as page:
        found = {one["id"] for one in axe.run(page).response["violations"]}
    assert {"color-contrast", "label"} <= found


def test_the_browser_would_notice(browser, tmp_path) -> None:
    bad = tmp_path / "bad.html"
    words = '<text x="0" y="8" font-size="8">leaf</text><text x="2" y="8" font-size="8">fern</text>'
    bad.write_text(
        "<!DOCTYPE html><meta charset=utf-8><script>console.log('leaf')</script>"
        "<p style='width:500px'>wide</p><p style='font-size:5pt'>small \U000fffff</p>"
        f'<svg viewBox="0 0 12 12" width="96">{words}</svg>',
        "utf-8",
    )
    with browser.page(bad, PHONE) as page:
        assert any("wide" in one for one in overflowing(page))
        assert clipped_text(page) == ["leaf", "fern"]
        assert covered_text(page) == ["leaf | fern"]
        assert missing_glyphs(page) == ["\U000fffff"]
        assert [one for one in small_text(page, 7) if "small" in one]
    assert browser.complaints == ["leaf"]


def test_a_layer_of_the_overlay_can_be_hidden(browser, sheet) -> None:
    shown = "(id) => document.getElementById(id).getBoundingClientRect().width > 0"
    with browser.page(sheet, DESK) as page:
        boxes = page.query_selector_all("input[data-layer]")
        assert boxes
        for box in boxes:
            layer = box.get_attribute("data-layer")
            assert page.evaluate(shown, layer)
            box.uncheck()
            assert not page.evaluate(shown, layer)
            box.check()
            assert page.evaluate(shown, layer)


def test_without_a_script_all_is_shown(browser, sheet) -> None:
    with browser.page(sheet, DESK, script=False) as page:
        layers = page.locator("input[data-layer]")
        assert layers.count() > 0
        assert all(not one.is_visible() for one in layers.all())
        assert page.locator(".work input").first.is_visible()
        assert page.locator("#overlay-title").count() == 1
