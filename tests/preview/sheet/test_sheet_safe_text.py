"""The sheet stands alone, and text of a drawing stays text."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from preprocess.model.artwork.output import output_layers
from preprocess.preview.sheet.job_sheet import job_sheet_html
from preprocess.write.svg.layer_colours import assign_colours
from tests import written_svg as written
from tests.labels import fern_label
from tests.preview.sheet.job_sheets import NAMES, made
from tests.preview.sheet.sheet_page import label, page_of, rows_of, text_of

if TYPE_CHECKING:
    from preprocess.preview.sheet.sheet_job import SheetJob


@pytest.fixture(scope="module", params=NAMES)
def job(request):
    got = made(request.param)
    size, layers = written.read(got.result.data)
    return got, page_of(got.html), size, layers


def test_ids_are_unique_and_all_references_lead_somewhere(job) -> None:
    got, page, _, _ = job
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids))
    text = got.html.decode()
    used = re.findall(r"url\(#([^)]+)\)|aria-labelledby=\"([^\"]+)\"|data-layer=\"([^\"]+)\"", text)
    names = {name for groups in used for name in groups if name}
    assert names
    assert names <= set(ids)


def test_it_stands_alone(job) -> None:
    text = job[0].html.decode()
    assert set(re.findall(r"https?://[^\s\"<>]+", text)) == {"http://www.w3.org/2000/svg"}
    assert not re.search(r"<(link|img|iframe|object|embed)\b|\bsrc=|@import|url\((?!#)", text)
    assert len(job[0].html) < 2_000_000


EVIL = '<img src=x onerror="alert(1)">&amp;\x07'


def evil_label() -> SheetJob:
    after = fern_label()
    names = {layer.name: f"{layer.name} {EVIL}" for layer in after.layers}
    shapes = tuple(replace(s, id=EVIL + s.id, layer=names[s.layer]) for s in after.shapes)
    layers = tuple(replace(layer, name=names[layer.name]) for layer in after.layers)
    after = replace(after, shapes=shapes, layers=layers)
    colours, _ = assign_colours(output_layers(after), {}, None)
    findings = tuple(
        replace(f, message=EVIL, remedy=EVIL) for f in made("fern/fern").result.findings
    )
    recipe = {"design": EVIL, "layers": [{"name": EVIL}]}
    return label(
        title=EVIL, before=after, after=after, colours=colours, findings=findings, recipe=recipe
    )


def test_text_of_the_drawing_stays_text() -> None:
    text = job_sheet_html(evil_label()).decode()
    page = page_of(text.encode())
    assert "<img" not in text
    assert "\x07" not in text
    assert page.xpath("//*[@onerror]") == []
    assert len(page.xpath("//script")) == 1
    assert text_of(page.find("body/header//h1")) == f"Job sheet {EVIL[:-1]}"
    assert EVIL[:-1] in rows_of(page)[0]["name"]
