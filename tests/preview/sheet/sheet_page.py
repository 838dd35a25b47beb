"""A job sheet read as a page: facts, steps, numbers; and a label to make one of."""

from __future__ import annotations

import re

from lxml import html

from preprocess.model.artwork.output import output_layers
from preprocess.model.bench.bench import Bench
from preprocess.preview.sheet.sheet_job import SheetJob
from preprocess.write.svg.layer_colours import assign_colours
from tests.labels import fern_label

NUMBER = r"-?\d+(?:\.\d+)?"


def page_of(data: bytes):
    return html.document_fromstring(data.decode())


def text_of(element) -> str:
    return " ".join(element.text_content().split())


def numbers(text: str) -> list[float]:
    return [float(one) for one in re.findall(NUMBER, text)]


def fact(page, name: str) -> str:
    (found,) = (d for d in page.iter("div") if d.find("dt") is not None and d[0].text == name)
    return text_of(found.find("dd"))


def rows_of(page) -> list[dict[str, str]]:
    """The numbered steps: cells by their heading, the swatch's colour, the layer's name."""
    found = []
    for row in page.find_class("step"):
        cells = {cell.get("data-name"): text_of(cell) for cell in row.findall("td")}
        layer = row.find_class("layer")[0]
        swatch = row.find_class("swatch")[0].get("style")
        cells |= {"swatch": swatch.removeprefix("background:"), "name": layer.text}
        found.append({**cells, "amount": text_of(layer.find("small"))})
    return found


def label(**changes) -> SheetJob:
    after = fern_label()
    colours, _ = assign_colours(output_layers(after), {}, None)
    known = {
        "title": "label.svg",
        "before": after,
        "after": after,
        "bench": Bench(),
        "colours": colours,
    }
    return SheetJob(**{**known, **changes})
