"""The page in a browser: what a person does there, with eyes, keys, ears, and without a script.

Time is that of a clock that the tests move, so that playing is the same each time.
"""

from __future__ import annotations

import json
import re
from contextlib import contextmanager
from dataclasses import replace

import pytest
from shapely import Point

from preprocess.findings import note
from preprocess.playback.page.page import playback_page
from tests.browser import (
    DESK,
    PHONE,
    chromium,
    expect_readable,
    missing_glyphs,
    needs_chromium,
    printed_pages,
)
from tests.playback_jobs import JOBS, playback_job

pytestmark = needs_chromium

SIZES = pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
TIMES = "() => [...document.querySelectorAll('.side input[type=range]')].map((one) => +one.value)"
PAINTED = """(kind) => [...document.querySelectorAll('.side ' + kind)].map((one) => {
    const { data } = one.getContext('2d').getImageData(0, 0, one.width, one.height);
    const seen = new Set();
    for (let i = 0; i < data.length; i += 4) seen.add(data.slice(i, i + 3).join());
    return seen.size;
})"""


@pytest.fixture(scope="module")
def browser():
    with chromium() as opened:
        yield opened


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("pages")


@pytest.fixture
def opened(browser, folder):
    """Opens the page of a job, waits for its first picture, and expects no complaint."""

    @contextmanager
    def open_page(name="speeds", size=DESK, *, fragment="", before=None, script=True):
        path = folder / f"{name}.html"
        if not path.exists():
            path.write_bytes(playback_page(*job_of(name), f"{name}.svg"))
        with browser.page(path, size, script=script) as page:
            if before is not None or fragment:
                before and before(page)
                page.goto("about:blank")
                page.goto(path.resolve().as_uri() + fragment)
            if script:
                page.locator("html[data-ready], #failed:not([hidden])").first.wait_for()
                assert browser.complaints == []
            yield page
        assert browser.complaints == []
        assert {url.partition("#")[0] for url in browser.asked_for} <= {
            path.resolve().as_uri(),
            "about:blank",
        }

    return open_page


def job_of(name: str):
    """A job; "found" has a finding with a place."""
    if name != "found":
        return playback_job(name)
    result, (before, after) = playback_job("speeds")
    found = note("odd-place", "a place", spot=(9.5, 4.5))
    return result, (replace(before, findings=(found,)), after)


def with_clock(page) -> None:
    page.clock.install(time=0)


@pytest.mark.parametrize("name", JOBS)
def test_every_kind_of_job_plays(opened, name) -> None:
    with opened(name) as page:
        page.evaluate("document.querySelector('input[value=most]').click()")
        page.click("#next")
        assert min(page.evaluate(PAINTED, "canvas")) > 5
        page.check("#follow")
        page.select_option("#speed", "1000")
        page.click("#all")
        page.wait_for_function("() => document.querySelector('#all').textContent === 'Play all'")
        assert page.evaluate(TIMES) == [
            float(one) for one in page.evaluate(TIMES.replace(".value", ".max"))
        ]


@SIZES
def test_all_can_be_read(opened, browser, folder, size) -> None:
    with opened("speeds", size):
        pass
    with browser.page(folder / "speeds.html", size) as page:
        page.wait_for_selector("html[data-ready]")
        assert missing_glyphs(page) == []
        high = page.evaluate("innerHeight")
        tall = page.evaluate(
            "[...document.querySelectorAll('.stage, .close')].map((one) => one.clientHeight)"
        )
        assert max(tall) <= 0.55 * high + 1
    expect_readable(browser, folder / "speeds.html", size)


@SIZES
def test_nothing_stands_in_the_way_of_ears(opened, size) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    with opened("speeds", size) as page:
        found = axe.run(page).response["violations"]
    assert [(one["id"], one["nodes"][0]["html"][:80]) for one in found] == []


def test_nothing_starts_by_itself(opened) -> None:
    with opened(before=with_clock) as page:
        shown = page.evaluate(TIMES)
        page.clock.run_for(3000)
        assert page.evaluate(TIMES) == shown
        assert page.inner_text("#all") == "Play all"


def test_the_first_picture_is_the_hottest_moment_of_each_side(opened) -> None:
    """The leaf's last rows are its hottest: the beam is at the hottest cell of Python's index."""
    _, predicted = playback_job("speeds")
    with opened() as page:
        facts = json.loads(page.inner_text("#page"))
        told = page.inner_text("#told")
        moments = page.evaluate(TIMES)
    for prediction, moment in zip(predicted, moments, strict=True):
        index = max(float(i.index[i.lit].max()) for i in prediction.heat.images)
        named = [float(one) for one in re.findall(r"index (\d\.\d\d)", told)]
        assert min(abs(one - index) for one in named) < 0.05 * index
        assert 0 < moment < prediction.schedule.total
    assert facts["names"] == ["As drawn", "As rewritten"]


def played(page, button: str, speed: str) -> list[list[float]]:
    page.clock.pause_at(3600)
    page.select_option("#speed", speed)
    page.click(button)
    found = []
    for _ in range(4):
        page.clock.run_for(250)
        found.append(page.evaluate(TIMES))
    page.click(button)
    return found


def test_playing_all_is_the_same_each_time_and_equally_fast_on_both_sides(opened) -> None:
    runs = []
    for _ in range(2):
        with opened("tray", before=with_clock) as page:
            runs.append(played(page, "#all", "0.3333333333333333"))
    assert runs[0] == runs[1]
    for step, (one, other) in enumerate(runs[0], 1):
        assert one == pytest.approx(other, abs=1e-6)
        assert one == pytest.approx(step * 0.25 / 3, abs=0.05)


def test_a_place_is_played_from_half_a_second_before_each_side_is_hottest(opened) -> None:
    with opened("tray", before=with_clock) as page:
        hottest = page.evaluate(TIMES)
        steps = played(page, "#local", "0.1")
    begun = [max(0.0, t - 0.5) for t in hottest]
    gone = [[t - start for t, start in zip(step, begun, strict=True)] for step in steps]
    for one, other in gone:
        assert one == pytest.approx(other, abs=2e-4)
    assert gone[-1][0] == pytest.approx(0.1, abs=0.02)


def test_a_row_on_is_the_end_of_the_next_row(opened) -> None:
    schedule = playback_job("speeds")[1][0].schedule
    rows = sum(len(visit.timed.spans) for visit in schedule.visits if visit.timed.runs is not None)
    with opened() as page:
        page.evaluate("document.querySelector('.side input[type=range]').value = 0")
        page.dispatch_event(".side input[type=range]", "input")
        row = page.locator(".side dd").nth(1)
        assert row.inner_text() == f"1 of {rows}"
        page.click("#next")
        page.click("#next")
        assert row.inner_text() == f"3 of {rows}"
        page.click("#back")
        assert row.inner_text() == f"2 of {rows}"


def test_all_can_be_done_with_keys(opened) -> None:
    with opened() as page:
        reached = []
        for _ in range(60):
            page.keyboard.press("Tab")
            focus = "document.activeElement"
            reached.append(page.evaluate(f"{focus}.id || {focus}.dataset.place || {focus}.type"))
        wanted = {"all", "local", "back", "next", "speed", "follow", "x", "y", "together", "share"}
        assert wanted <= set(reached)
        assert sum("," in (one or "") for one in reached) >= 4
        page.focus("#back")
        shown = page.evaluate(TIMES)
        page.keyboard.press("Enter")
        assert page.evaluate(TIMES) < shown
        page.focus(".side input[type=range]")
        shown = page.evaluate(TIMES)
        page.keyboard.press("Home")
        assert page.evaluate(TIMES)[0] < shown[0]
        page.focus("#x")
        page.keyboard.press("ArrowUp")
        assert "index" in page.inner_text("#told") or "nothing" in page.inner_text("#told")


def test_a_press_in_a_picture_chooses_the_place_on_both_sides(opened) -> None:
    """As drawn the middle of a leaf is at x = 10 mm; its first copy lies elsewhere on the tray."""
    result, _ = playback_job("tray")
    with opened("tray") as page:
        box = json.loads(page.inner_text("#page"))["boxes"][0]
        shown = page.locator(".stage").first.bounding_box()
        scale = shown["width"] / (box[2] - box[0] + 1.6)
        at = ((10 - box[0] + 0.8) * scale, (4.9 - box[1] + 0.8) * scale)
        page.locator(".stage").first.click(position={"x": at[0], "y": at[1]})
        x, y = (float(page.input_value(f"#{name}")) for name in "xy")
        told = page.inner_text("#told")
    moved = [shape for shape in result.after.shapes if shape.is_engraved_area]
    x, y = x + result.after.page.left, y + result.after.page.top
    assert any(shape.geometry.contains(Point(x, y)) for shape in moved)
    assert "nothing is engraved" not in told


def test_a_finding_rings_its_place(opened) -> None:
    with opened("found") as page:
        button = page.locator("ul.found button").first
        button.click()
        assert button.get_attribute("aria-pressed") == "true"
        spot = [float(one) for one in button.get_attribute("data-place").split(",")]
        shown = [float(page.input_value(f"#{name}")) for name in "xy"]
        assert shown == pytest.approx(spot, abs=0.051)


def test_paper_shows_the_hottest_moment_whatever_was_on_the_screen(opened) -> None:
    with opened() as page:
        hottest = page.evaluate(TIMES)
        page.evaluate("document.querySelector('.side input[type=range]').value = 0")
        page.dispatch_event(".side input[type=range]", "input")
        moved = page.evaluate(TIMES)
        assert moved != hottest
        page.evaluate("dispatchEvent(new Event('beforeprint'))")
        assert page.evaluate(TIMES) == hottest
        assert min(page.evaluate(PAINTED, ".stage")) > 20
        page.evaluate("dispatchEvent(new Event('afterprint'))")
        assert page.evaluate(TIMES) == moved
        assert 1 <= printed_pages(page, "A4") <= 4
        page.emulate_media(media="print")
        assert not page.locator("#all").is_visible()
        assert page.locator(".stage").first.is_visible()


def test_without_a_script_pictures_and_figures_are_there(opened) -> None:
    with opened(script=False) as page:
        assert page.locator(".still svg").count() == 2
        assert page.locator(".still svg").first.is_visible()
        assert page.get_by_text("Playing needs a script.").is_visible()
        assert not page.locator(".controls").is_visible()
        assert page.locator("table").is_visible()


def test_the_address_says_what_a_newer_page_begins_with(opened) -> None:
    fragment = "#place=10.5,5.2&t=0.2,0.25&view=most&speed=0.1&follow=yes"
    with opened(fragment=fragment) as page:
        assert [page.input_value(f"#{name}") for name in "xy"] == ["10.5", "5.2"]
        assert page.evaluate(TIMES) == [0.2, 0.25]
        assert page.is_checked("input[value=most]")
        assert page.is_checked("#follow")
        assert page.input_value("#speed") == "0.1"


def test_nonsense_in_the_address_is_passed_over(opened) -> None:
    with opened(fragment="#place=a,b&t=1&view=x&speed=-3") as page:
        assert page.is_checked("input[value=now]")
        assert page.input_value("#speed") == "1"


def test_a_page_in_a_frame_tells_what_the_next_one_needs(browser, opened, folder) -> None:
    with opened():
        pass
    holder = folder / "holder.html"
    holder.write_text(
        "<!doctype html><title>a</title><script>globalThis.said = [];"
        "addEventListener('message', (event) => said.push(event.data));</script>"
        "<iframe src='speeds.html#speed=0.1' width=1000 height=800></iframe>",
        "utf-8",
    )
    with browser.page(holder, DESK) as page:
        page.wait_for_function("() => said.some((one) => one.ready)")
        page.frame_locator("iframe").locator("input[value=most]").check()
        page.wait_for_function("() => said.at(-1).state?.includes('view=most')")
        kept = page.evaluate("said.at(-1).state")
    assert kept.startswith("#place=")
    assert "speed=0.1" in kept
    assert browser.complaints == []
