"""The page as bytes: what it says without a script, and what it lets in."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from dataclasses import replace

import pytest
from lxml import html

from preprocess.findings import note
from preprocess.playback.page.page import playback_page
from preprocess.preview.sheet.checklist import CAUTIONS
from tests.playback_blocks import unpacked
from tests.playback_jobs import playback_job

EVIL = "</script><img src=x onerror=alert(1)>&\u202efern\x07"


def page_of(name: str, **changes):
    result, predicted = playback_job(name)
    data = playback_page(replace(result, **changes), predicted, f"{name}.svg")
    return html.document_fromstring(data.decode()), data.decode()


def texts_of(page, tag: str) -> list[str]:
    return [" ".join(one.text_content().split()) for one in page.iter(tag)]


def test_the_same_job_gives_the_same_bytes() -> None:
    result, predicted = playback_job("speeds")
    one, other = (playback_page(result, predicted, "speeds.svg") for _ in range(2))
    assert one == other


def test_nothing_is_fetched_and_only_its_own_script_and_style_may_run() -> None:
    page, text = page_of("speeds")
    (policy,) = page.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
    assert policy.startswith("default-src 'none'; ")
    for tag in ("script", "style"):
        (inside,) = re.findall(rf"<{tag}(?: type=\"module\")?>(.*?)</{tag}>", text, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}'" in policy
    assert "unsafe" not in policy
    fetched = page.xpath("//@src | //@href | //@action")
    assert [one for one in fetched if not one.startswith("data:image/png;base64,")] == []
    shown = text[: text.index('<script type="application/json"')]
    assert set(re.findall(r"url\([^)]*\)", shown)) == {"url(#glow)"}
    assert "style=" not in shown
    assert re.findall(r"\son[a-z]+=", shown) == []


def test_texts_of_a_job_stay_texts() -> None:
    result, predicted = playback_job("speeds")
    evil = note("odd-name", EVIL, EVIL, spot=(3.0, 4.0))
    after = replace(predicted[1], findings=(evil, *predicted[1].findings))
    text = playback_page(result, (predicted[0], after), EVIL).decode()
    page = html.document_fromstring(text)
    assert len(list(page.iter("script"))) == 4
    assert list(page.iter("img")) == []
    assert "\x07" not in text
    assert "\u202e" not in text
    assert any("<img src=x" in one for one in texts_of(page, "h1"))


def test_it_holds_the_block_of_the_job() -> None:
    page, _ = page_of("tray")
    head, _ = unpacked(*(page.get_element_by_id(name).text for name in ("head", "data")))
    assert head["title"] == "tray.svg"
    assert [side["name"] for side in head["sides"]] == ["As drawn", "As rewritten"]


def test_it_says_what_it_is_and_warns_as_everywhere() -> None:
    page, _ = page_of("speeds")
    text = " ".join(page.text_content().split())
    assert "Nothing here was measured, and no setting is promised to be safe." in text
    assert "computed exactly, for that point" in text
    assert "“Hottest so far” is the heat index of the report" in text
    assert "for the eye only: read no numbers from it" in text
    assert "Brighter is hotter. The heat map and the job sheet go the other way" in text
    for caution in CAUTIONS:
        assert caution in text.replace("\N{NO-BREAK SPACE}", " ")


def test_it_says_when_the_filament_was_not_graded() -> None:
    page, _ = page_of("rounds")
    text = page.text_content()
    assert "Uncalibrated: ranking only." in text
    assert "heat index, in medians of this job" in text
    assert json.loads(page.get_element_by_id("page").text)["window"] is None


def test_the_window_is_that_of_the_filament() -> None:
    page, _ = page_of("speeds")
    facts = json.loads(page.get_element_by_id("page").text)
    assert facts["window"] == {"weak": 0.85, "heavy": 1.2}
    assert facts["base"] == 1
    assert facts["top"] >= 1.1 * 1.2


def test_every_layer_has_a_row_with_its_settings() -> None:
    page, _ = page_of("speeds")
    rows = [texts_of(row, "td") for row in page.iter("tr")][1:]
    layers = [one for one in texts_of(page, "th") if one in {"first", "second"}]
    assert layers == ["first", "second"]
    assert [[cell.replace("\N{NO-BREAK SPACE}", " ") for cell in row[2:4]] for row in rows] == [
        ["60 %", "700 mm/s"],
        ["30 %", "300 mm/s"],
    ]


def test_findings_of_both_sides_offer_their_places() -> None:
    result, predicted = playback_job("speeds")
    at = note("odd-place", "a place of the drawing", spot=(8.0, 4.5))
    before = replace(predicted[0], findings=(at,))
    after = replace(predicted[1], findings=(note("odd", "nowhere", "do this"),))
    page = html.document_fromstring(playback_page(result, (before, after), "a").decode())
    found = {
        " ".join(li.text_content().split()): (li.get("data-spot"), li.get("data-side"))
        for li in page.find_class("found")[0].getparent().iter("li")
    }
    assert found["note a place of the drawing."] == ("8.00,4.50", "0")
    assert found["note nowhere; do this."] == (None, None)


def test_spots_of_the_conversion_are_on_the_drawing_again() -> None:
    """Bars made the page grow to the left; findings count from its corner, the page does not."""
    result, predicted = playback_job("tray")
    left, top = result.after.page.left, result.after.page.top
    assert left < 0
    at = note("odd-place", "a place", spot=(10.0 - left, 5.0 - top))
    result = replace(result, findings=(at,))
    page = html.document_fromstring(playback_page(result, predicted, "a").decode())
    (spot,) = page.xpath("//li[contains(., 'a place')]/@data-spot")
    assert spot == "10.00,5.00"


@pytest.mark.parametrize("side", [0, 1])
def test_the_places_offered_are_the_extremes_of_their_side(side) -> None:
    """Leaves get hotter from row to row: hottest far down, coldest in the first rows."""
    _, predicted = playback_job("speeds")
    page, _ = page_of("speeds")
    spots = [
        tuple(map(float, one.get("data-spot").split(",")))
        for one in page.xpath(f"//*[@class='pick']//li[@data-side='{side}']")
    ]
    (hot, cold) = (index_near(predicted[side], spot) for spot in spots)
    every = [image.index[image.lit] for image in predicted[side].heat.images]
    highest, lowest = max(map(max, every)), min(map(min, every))
    assert hot >= highest - 0.1 * (highest - lowest)
    assert cold <= lowest + 0.35 * (highest - lowest)


def index_near(prediction, spot) -> float:
    found = []
    for image in prediction.heat.images:
        x, y = (axis[image.lit] for axis in image.points)
        away = (x - spot[0]) ** 2 + (y - spot[1]) ** 2
        found.append((away.min(), image.index[image.lit][away.argmin()]))
    return min(found)[1]
