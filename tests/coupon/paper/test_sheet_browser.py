"""The coupon sheet in a browser: on a phone, on a desk, on paper, for ears."""

from __future__ import annotations

import pytest

from preprocess.coupon.design.definition import read_definition
from preprocess.coupon.paper.files import coupon_files
from tests.browser import (
    DESK,
    PAPER,
    PHONE,
    PX_PER_MM,
    chromium,
    clipped_text,
    expect_readable,
    needs_chromium,
    only_fonts,
    overflowing,
    printed_pages,
)
from tests.coupon.drawn import FOLDER

pytestmark = needs_chromium


@pytest.fixture(scope="module")
def browser():
    with chromium() as opened:
        yield opened


@pytest.fixture(scope="module", params=["power-speed", "bar-distance", "field-scale"])
def sheet(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp("sheets")
    definition = read_definition(FOLDER / f"{request.param}.coupon.yaml")
    path = folder / "x.coupon.html"
    path.write_bytes(coupon_files(definition, folder / "x.svg").data[path])
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


@pytest.fixture(
    scope="module",
    params=[
        pytest.param(("DejaVuSans.ttf",), id="one wide font"),
        pytest.param(("DejaVuSansMono.ttf",), id="one fixed-width font"),
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


def test_it_is_accessible(browser, sheet) -> None:
    from axe_playwright_python.sync_playwright import Axe

    with browser.page(sheet, DESK) as page:
        found = Axe().run(page).response["violations"]
        assert [(v["id"], [n["html"][:80] for n in v["nodes"]]) for v in found] == []
