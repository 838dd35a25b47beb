"""The page in a browser: on a phone and on a desk, by keys, with a mistake and without one."""

from __future__ import annotations

import threading
from contextlib import chdir

import pytest

from preprocess.errors import Complaint, Place
from preprocess.preview.drawing.html import source_hash
from preprocess.watch.hub import Hub
from preprocess.watch.messages import (
    Began,
    Drawn,
    FindingLine,
    Finished,
    Found,
    Mistaken,
    Named,
    View,
)
from preprocess.watch.page import watch_page
from preprocess.watch.server import WatchServer
from tests.browser import DESK, PHONE, chromium, needs_chromium, overflowing, small_text
from tests.watch.made_run import messages_of_a_run

PICTURE = b"""<svg xmlns="http://www.w3.org/2000/svg" width="90mm" viewBox="0 0 90 45">
<title>frond</title><path fill="#345" d="M3 20Q45 3 85 19Q45 40 3 20Z"/></svg>"""
HOSTILE = "<img src=x onerror=document.title='broken'>"
GOOD = (
    Began(),
    Named("fern.svg"),
    Found((FindingLine("warn", f"a tip is narrow {HOSTILE}"), FindingLine("note", "83 paths"))),
    Drawn(View.CHANGES, PICTURE),
    Drawn(View.HEAT, PICTURE, "worst place +10 % → +1 %, coldest −36 % → −2 %"),
    Finished(),
)
LONG = "beds/of-the-north-garden-behind-the-greenhouse/labels-of-spring/fern.yaml"
MISTAKE = Mistaken((Complaint("by is 'widht'", "did you mean width?", Place(LONG, 23, 21)),))


def test_the_policy_holds_hashes_of_what_stands_in_the_page():
    page = watch_page(HOSTILE)
    text = page.data.decode()
    style = text.partition("<style>")[2].partition("</style>")[0]
    script = text.partition("<script>")[2].partition("</script>")[0]
    assert f"script-src {source_hash(script)};" in page.policy
    assert f"style-src {source_hash(style)};" in page.policy
    assert "unsafe" not in page.policy
    assert text.count("<script") == 1
    assert HOSTILE not in text


@pytest.fixture(scope="module")
def browser():
    with chromium() as opened:
        yield opened


@pytest.fixture
def server():
    hub = Hub()
    with WatchServer(hub, watch_page("fern.yaml")) as made:
        threading.Thread(target=made.serve_forever, daemon=True).start()
        yield made
        hub.close()
        made.shutdown()


def tell(server, *messages):
    for message in messages:
        server.hub.put(message)


def seen(page, run):
    """Wait until the page shows the end of a run."""
    page.wait_for_selector(f'main[data-run="{run}"]', state="attached")


@needs_chromium
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_mistake_stands_above_the_old_picture_and_nothing_overflows(browser, server, size):
    tell(server, *GOOD)
    with browser.page(server.door.address, size) as page:
        seen(page, 1)
        assert page.locator("#wrong").is_hidden()
        assert page.locator("#findings").inner_text().count(HOSTILE) == 1
        assert page.title() == "done: fern.svg"

        tell(server, Began(("/beds/fern.yaml",)), MISTAKE, Finished())
        seen(page, 2)
        wrong, picture = page.locator("#wrong"), page.locator("#heat-image")
        assert wrong.locator("code").inner_text() == f"{LONG}:23:21"
        assert "by is 'widht'; did you mean width?" in wrong.inner_text()
        assert "of an earlier run" in wrong.inner_text()
        assert page.locator("#heat-of").inner_text() == "Of run 1, not of the last save."
        assert wrong.bounding_box()["y"] < picture.bounding_box()["y"]
        assert picture.get_attribute("src") == "heat/2"
        assert page.title() == "mistake: fern.svg"
        assert overflowing(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
        assert small_text(page, 7) == []
        assert page.evaluate("document.getAnimations().length") == 0
    assert browser.complaints == []
    assert {one.startswith(server.door.address) for one in browser.asked_for} == {True}


@needs_chromium
def test_all_is_reached_by_keys(browser, server):
    tell(server, *GOOD)
    with browser.page(server.door.address, DESK) as page:
        seen(page, 1)
        reached = []
        for _ in range(3):
            page.keyboard.press("Tab")
            reached.append(page.evaluate("document.activeElement.id"))
        assert reached == ["heat-link", "changes-link", "notes-title"]
        page.keyboard.press("Enter")
        assert page.locator("#notes-list").inner_text() == "83 paths"


@needs_chromium
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_nothing_stands_in_the_way_of_ears(browser, server, size):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    tell(server, *GOOD, Began(("/beds/fern.yaml",)), MISTAKE, Finished())
    with browser.page(server.door.address, size, policy=False) as page:
        seen(page, 2)
        found = axe.run(page).response["violations"]
        assert [(one["id"], one["impact"], one["nodes"][0]["html"][:80]) for one in found] == []


PLAYED = """<!DOCTYPE html><html lang="en"><meta charset="utf-8"><title>played</title><p>NAME</p>
<script>
let reached = 'kept out';
try { reached = parent.document.title; } catch {}
document.querySelector('p').textContent = `NAME ${location.hash} ${reached} ${origin}`;
if (SAYS_READY) parent.postMessage({ready: true}, '*');
parent.postMessage({state: STATE}, '*');
</script>"""


def played(name, state="", *, ready="true"):
    text = PLAYED.replace("NAME", name).replace("SAYS_READY", ready)
    return Drawn(View.PLAYBACK, text.replace("STATE", repr(state)).encode())


@needs_chromium
def test_a_frame_stays_until_the_next_is_ready_and_hands_on_what_is_looked_at(browser, server):
    tell(server, *GOOD, played("first", "#place=57.0,14.6&view=now"))
    with browser.page(server.door.address, PHONE) as page:
        seen(page, 1)
        shown = page.frame_locator("iframe:not(.coming)").locator("p")
        shown.get_by_text("first  kept out null").wait_for()  # no origin: as if of another site

        tell(server, Began(), played("late", "#place=1,1", ready="false"), Finished())
        seen(page, 2)
        coming = page.frame_locator("iframe.coming")
        coming.get_by_text("late #place=57.0,14.6&view=now").wait_for(state="attached")
        assert shown.inner_text().startswith("first")
        assert page.locator("#playback-of").inner_text() == "Of run 1, not of the last save."

        tell(server, Began(), played("third", "#<b>"), Finished())
        shown.get_by_text("third #place=57.0,14.6&view=now").wait_for()
        seen(page, 3)
        assert page.locator("iframe").count() == 1
        assert page.locator("#playback-of").inner_text() == "Of run 3."

        tell(server, Began(), played("fourth"), Finished())
        shown.get_by_text("fourth #place=57.0,14.6&view=now").wait_for()  # "#<b>" is no state
        assert overflowing(page) == []
    assert browser.complaints == []


@needs_chromium
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_real_run_is_played_in_the_frame_and_nothing_scrolls(browser, server, run, size):
    tell(server, Began(), *run)
    with browser.page(server.door.address, size) as page:
        seen(page, 1)
        frame = page.frame_locator("iframe")
        frame.locator("html[data-ready=yes]").wait_for(state="attached")
        assert overflowing(page) == []
        assert page.evaluate("scrollY") == 0
        assert frame.locator("html").evaluate("() => scrollY") == 0
    assert browser.complaints == []


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    with chdir(tmp_path_factory.mktemp("bench")):
        return messages_of_a_run()


HIDE = """(state) => {
    Object.defineProperty(document, 'hidden', {value: state === 'hidden', configurable: true});
    document.dispatchEvent(new Event('visibilitychange'));
}"""


@needs_chromium
def test_a_hidden_page_holds_no_connection_and_catches_up(browser, server):
    tell(server, *GOOD)
    with browser.page(server.door.address, DESK) as page:
        seen(page, 1)
        page.evaluate(HIDE, "hidden")
        tell(server, Began(("/beds/fern.yaml",)), MISTAKE, Finished())
        assert page.locator("main").get_attribute("data-run") == "1"
        page.evaluate(HIDE, "visible")
        seen(page, 2)
    asked = [one for one in browser.asked_for if one.endswith("/states")]
    assert len(asked) == 2


@needs_chromium
def test_a_page_whose_program_has_ended_says_so(browser, server):
    tell(server, *GOOD)
    with browser.page(server.door.address, DESK) as page:
        seen(page, 1)
        server.hub.close()
        page.get_by_text("evenmark does not answer.").wait_for()
        assert page.locator("#heat-image").is_visible()


@needs_chromium
def test_without_script_it_says_what_to_do(browser, server):
    with browser.page(server.door.address, PHONE, script=False) as page:
        assert "evenmark run --also overlay,sheet" in page.inner_text("noscript")
        assert overflowing(page) == []
