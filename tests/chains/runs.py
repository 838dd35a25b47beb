"""Carries one chain out, with overlay, sheet and report, and has it judged."""

from __future__ import annotations

import json
import random
import re
import time
import traceback
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import shapely

from preprocess import pipeline
from preprocess.errors import UserError
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read
from preprocess.recipe.load import recipe_from_mapping
from tests.chains import judge, written
from tests.chains.art import HOLE, Drawn, bench, draw, number
from tests.chains.orders import legal_chain
from tests.chains.pictures import Base, Frame, Placed, beyond_page, differences
from tests.processor_time import TooLongError, at_most

MOST_S = 30
"""Processor time that one chain may take."""

CLIPART = 0.15
"""Share of the drawings that are of the folder."""

HEAT = 0.04
"""Share of the chains on labels whose heat is predicted; drawings of the folder may be large."""


class Unpictured(Exception):  # noqa: N818 - no error
    """The drawing by itself cannot be written, so that there is nothing to compare with."""


@dataclass(kw_only=True)
class Verdict:
    """What became of one chain: written, stopped, refused, slow, broken or wrong."""

    name: str
    how: str
    steps: list[Any] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    pictured: bool = False
    said: str = ""
    seconds: float = 0.0

    @property
    def passes(self) -> list[str]:
        """Names of the passes, in order."""
        return [next(iter(step)) for step in self.steps]


def without_refused(steps: list[Any], wrong_step: str) -> list[Any]:
    """The chain without the step that a refusal names; the same chain where it names none."""
    match = re.search(r"\bstep (\d+) \(", wrong_step)
    return [one for n, one in enumerate(steps, 1) if match is None or n != int(match[1])]


def random_chain(seed: str, clipart: list[Path]) -> tuple[Drawn, list[Any], bool]:
    """A drawing, a chain for it, and whether its heat is predicted."""
    chance = random.Random(seed)
    drawn = of_clipart(chance, clipart) if clipart and chance.random() < CLIPART else draw(chance)
    steps = legal_chain(chance, drawn)
    return drawn, steps, not isinstance(drawn, Clipart) and chance.random() < HEAT


def of_clipart(chance: random.Random, clipart: list[Path]) -> Drawn:
    """A drawing of the folder, at random on a bench of its own."""
    path = chance.choice(clipart)
    data = path.read_bytes()
    page = read(data, path.name, ReadingOptions()).artwork.page
    width, height = round(page.width, 3), round(page.height, 3)
    _, recipe = bench(random.Random(chance.random()), width, height)
    recipe.pop("keep_off", None)
    recipe.pop("layers", None)
    recipe["part"] = {"outline": [f"{number(side)} mm" for side in (width, height)]}
    return Clipart(width=width, height=height, marked=(), recipe=recipe, data=data)


@dataclass(frozen=True, slots=True, kw_only=True)
class Clipart(Drawn):
    """A drawing from a file."""

    data: bytes

    @property
    def svg(self) -> bytes:
        return self.data


def run(name: str, drawn: Drawn, steps: list[Any], codes: frozenset[str], *, heat: bool) -> Verdict:
    """Carry out and judge; whatever is raised becomes a verdict."""
    found = Verdict(name=name, how="written", steps=steps)
    begin = time.process_time()
    try:
        with at_most(MOST_S):
            _carried_out(found, drawn, steps, codes, heat=heat)
    except UserError as error:
        found.how, found.said = "refused", str(error)
        found.wrong += _wording(error)
    except TooLongError:
        found.how = "slow"
    except Exception as error:  # noqa: BLE001 - all that goes wrong is to be listed
        where = traceback.extract_tb(error.__traceback__)[-1]
        found.how = "broken"
        found.wrong.append(f"{type(error).__name__} in {Path(where.filename).name}: {error}")
    found.seconds = time.process_time() - begin
    return found


def _wording(error: UserError) -> list[str]:
    """A refusal is one sentence that says what to do."""
    return [
        f"poor words: {one}"
        for one in error.complaints
        if not one.remedy or "\n" in str(one) or re.search(r"\bnan\b|\binf\b|None", one.found)
    ]


def _carried_out(
    found: Verdict, drawn: Drawn, steps: list[Any], codes: frozenset[str], *, heat: bool
) -> None:
    loaded = recipe_from_mapping({"recipe": 1, **drawn.recipe, "passes": steps})
    result = pipeline.convert(loaded, drawn.svg, "label.svg")
    if result.data is None:
        found.how = "stopped"
        found.said = "; ".join(one.message for one in result.findings if one.severity == "stop")
        found.wrong += [
            f"stop without a remedy: {one.code}" for one in result.findings if not one.remedy
            and one.severity == "stop"
        ]  # fmt: skip
        return
    predicted = pipeline.predict_both(result) if heat else None
    overlay = pipeline.make_overlay(result, "label.svg")
    sheet = pipeline.make_sheet(result, loaded, "label.svg", predicted, "label.laser.svg")
    report = json.loads(pipeline.make_report(result, loaded, "label.svg", predicted))
    growth = report["page"]["growth_mm"]
    parts, keep_off = _silhouettes(drawn, steps, growth)
    found.wrong += judge.judge(result.data, report, sheet, codes, parts, keep_off)
    found.wrong += _pictures(found, drawn, steps, result.data, overlay, report)
    if found.wrong:
        found.how = "wrong"


def _silhouettes(
    drawn: Drawn, steps: list[Any], growth: dict[str, float]
) -> tuple[list[Any], list[Any]]:
    """Part and hole on the output page, by the drawing; none where place moves them."""
    if any("place" in step for step in steps) or "part" not in drawn.recipe:
        return [], []
    by = 0.0 if isinstance(drawn.recipe["part"]["outline"], list) else 0.5
    left, top = growth["left"], growth["top"]
    box = shapely.box(left + by, top + by, left + drawn.width - by, top + drawn.height - by)
    if by:
        box = box.buffer(-3).buffer(3, quad_segs=64)
    x, y, r = HOLE
    hole = shapely.Point(left + x, top + y).buffer(r, quad_segs=64)
    return [box], [hole] if "keep_off" in drawn.recipe else []


def _pictures(
    found: Verdict,
    drawn: Drawn,
    steps: list[Any],
    data: bytes,
    overlay: bytes,
    report: judge.Report,
) -> list[str]:
    """What the pictures show otherwise; nothing where place comes after other passes."""
    placed = [number for number, step in enumerate(steps) if "place" in step]
    if placed not in ([], [0]):
        return []
    page, growth = written.read(data), report["page"]["growth_mm"]
    guides = {group.id for group in page.groups} - _layer_ids(report)
    frame = Frame(page.width, page.height, growth["left"], growth["top"])
    traced = any(one["operation"] != "engrave" for one in drawn.recipe.get("layers", ()))
    if placed or traced or isinstance(drawn, Clipart):
        try:
            base = _written_base(drawn, steps[: len(placed)], frame)
        except Unpictured:
            return []
    else:
        size = (drawn.width, drawn.height)
        base = Base.of_drawing(drawn.marked, frame, size)
        if beyond_page(drawn.marked, size) and "beyond-page" not in _codes(report):
            return ["the drawing reaches beyond its page, which is not told"]
    found.pictured = True
    return differences(base, page, written.read_overlay(overlay), frame, guides)


def _written_base(drawn: Drawn, steps: list[Any], frame: Frame) -> Base:
    """The drawing as written without passes, or by place alone."""
    files = []
    for chain in (steps, [*steps, "strokes-to-areas"]):
        loaded = recipe_from_mapping({"recipe": 1, **drawn.recipe, "passes": chain})
        result = pipeline.convert(loaded, drawn.svg, "label.svg")
        if result.data is None:
            raise Unpictured
        report = json.loads(pipeline.make_report(result, loaded, "label.svg"))
        growth, ids = report["page"]["growth_mm"], _layer_ids(report)
        marked = [group for group in written.read(result.data).groups if group.id in ids]
        files.append(Placed(marked, frame.left - growth["left"], frame.top - growth["top"]))
    return Base.of_written(*files, frame)


def _codes(report: judge.Report) -> set[str]:
    return {one["code"] for one in report["findings"]}


def _layer_ids(report: judge.Report) -> set[str]:
    return {one["id"] for one in report["layers"]}
