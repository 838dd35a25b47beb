"""One run of a watched job, stage by stage: mistakes, findings, changes, heat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.errors import UserError
from preprocess.watch.messages import (
    Drawn,
    Failed,
    FindingLine,
    Finished,
    Found,
    Mistaken,
    Named,
    Opened,
    View,
)
from preprocess.watch.stamps import stamps_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from preprocess.findings import Finding
    from preprocess.pipeline import Conversion
    from preprocess.recipe.load import LoadedRecipe
    from preprocess.watch.messages import Message
    from preprocess.watch.opened import OpenedFiles


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchedJob:
    """A recipe and the bytes of its drawing; `name` is for messages, `title` for pictures.

    `note` says how the recipe came about, where none was named.
    """

    loaded: LoadedRecipe
    data: bytes
    name: str
    title: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class WatchTask:
    """What a worker is to do: open the job, convert it, and predict its heat unless told not to.

    `lines` tells findings in lines, each with its label.
    """

    open_job: Callable[[], WatchedJob]
    lines: Callable[[Iterable[Finding]], Iterable[tuple[str, str]]]
    heat: bool = True


def run_stages(task: WatchTask, opened: OpenedFiles) -> Iterator[Message]:
    """Run a job; yields each thing as soon as it is known, and at last Finished or Failed."""
    try:
        yield from _stages(task, opened)
    except UserError as error:
        yield Opened(dict(opened.stamps), whole=False)
        yield Mistaken(error.complaints)
    except Exception as error:  # noqa: BLE001 - our bug, whatever it is
        yield Failed(
            f"This is a bug in evenmark, not in your files: {type(error).__name__}; "
            "evenmark run makes a report of it."
        )
        return
    yield Finished()


def _stages(task: WatchTask, opened: OpenedFiles) -> Iterator[Message]:
    from preprocess.pipeline import make_overlay
    from preprocess.process_limits import convert_within_limits, within_limits

    opened.is_on = True
    try:
        job = task.open_job()
    finally:
        opened.is_on = False
    yield Opened(dict(opened.stamps), whole=True)
    yield Named(job.title, job.note)
    result = convert_within_limits(job.loaded, job.data, job.name)
    if result.font_files:
        yield Opened(stamps_of(result.font_files), whole=False)
    yield _found(task, result.findings, stopped=result.data is None)
    if result.data is None:
        return
    with within_limits(job.loaded, job.name):
        yield Drawn(View.CHANGES, make_overlay(result, job.title))
        if task.heat:
            yield from _heat(task, result, job.title)


def _found(task: WatchTask, findings: Iterable[Finding], *, stopped: bool = False) -> Found:
    return Found(tuple(FindingLine(*line) for line in task.lines(findings)), stopped)


def _heat(task: WatchTask, result: Conversion, title: str) -> Iterator[Message]:
    """Heat at a quick look first, then as a run predicts it."""
    from preprocess.marking.heat.effort import Effort
    from preprocess.marking.prediction import evenness_sentence, predict
    from preprocess.pipeline import predict_both, prediction_findings
    from preprocess.playback.page.page import playback_page
    from preprocess.preview.heat_map.heat_map import heat_map_svg

    artworks = result.drawn, result.after
    was, now = (
        predict(artwork, result.bench, effort=Effort.PREVIEW, surely=False) for artwork in artworks
    )
    for coarse in (True, False):
        if not coarse:
            was, now = predict_both(result)
            yield _found(task, (*result.findings, *prediction_findings(result, now)))
        picture = heat_map_svg(
            result.after,
            now.heat,
            bench=result.bench,
            findings=() if coarse else now.findings,
            title=title,
        )
        yield Drawn(View.HEAT, picture, evenness_sentence(now, was) or "", coarse=coarse)
    yield Drawn(View.PLAYBACK, playback_page(result, (was, now), title))
