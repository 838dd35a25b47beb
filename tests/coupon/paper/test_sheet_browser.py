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


def test_it_is_accessible(browser, sheet) -> None:
    from axe_playwright_python.sync_playwright import Axe

    with browser.page(sheet, DESK) as page:
        found = Axe().run(page).response["violations"]
        assert [(v["id"], [n["html"][:80] for n in v["nodes"]]) for v in found] == []
