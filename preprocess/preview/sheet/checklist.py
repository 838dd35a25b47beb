"""The order of work as a checklist, and the cautions. They defer to manual, codes and practice."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.model.artwork.own_marks import OwnMark, own_mark
from preprocess.preview.sheet.job_facts import bars_bounds, marks_bounds
from preprocess.preview.sheet.quantities import percent_text, size_text
from preprocess.write.guides.check_square import SQUARE_SIDE, check_square
from preprocess.write.placing import box_on_part
from preprocess.write.svg.decimals import decimal_text

if TYPE_CHECKING:
    from preprocess.preview.sheet.sheet_job import SheetJob

CAUTIONS = (
    "Fumes of marked plastic are harmful: extract at the part, and filter.",
    "Never mark chlorinated plastic (PVC, vinyl), or plastic that you do not know.",
    "Eyewear for this wavelength; enclosure closed, interlock working.",
    "Never leave a running machine alone; keep what puts out a fire within reach.",
    "Bars strike whatever lies under them: a matt sacrificial card, never bare or polished metal.",
    "Heat is a prediction; no setting here is promised to be safe or right.",
    "The machine's manual, local codes and licensed practice come first.",
)

_GROUPS = ("Before switching on", "In the laser software", "At the part", "While and after marking")


def checklist(job: SheetJob) -> list[tuple[str, list[str]]]:
    """Steps of the job, in order, under four headings; numbers are those of this job."""
    return list(zip(_GROUPS, (_room(job), _software(job), _at_part(job), _after()), strict=True))


def _room(job: SheetJob) -> list[str]:
    wave = job.bench.machine_or_default.wavelength
    eyes = f" for {decimal_text(1e6 * wave, 0)} nm" if wave else " for the laser's wavelength"
    return [
        "Extraction and filter on.",
        f"Eyewear{eyes} on; enclosure and interlock in order.",
        "Lens clean and dry.",
        f"The right spool: {_spool(job)}. Print dry, clean, free of dust and grease.",
    ]


def _spool(job: SheetJob) -> str:
    return job.bench.filament.name if job.bench.filament else "one that you know"


def _software(job: SheetJob) -> list[str]:
    return [
        f"Import the file at 100 %, unturned. {_measure(job)}",
        _where(job),
        "Type in each numbered step, in this order; switch guides off.",
        *_greys(job),
    ]


def _greys(job: SheetJob) -> list[str]:
    """Settings without which the greys of an image are not the power that was solved."""
    grey = job.bench.machine_or_default.grey
    if grey is None or all(shape.grey is None for shape in job.after.shapes):
        return []
    low, high = percent_text(grey.from_), percent_text(grey.to)
    said = f"Images: the lightest grey at {low}, black at {high}, white not marked."
    return [
        said,
        "One row to each row of pixels. No dithering; no contrast, brightness or sharpening.",
    ]


def _measure(job: SheetJob) -> str:
    """Measure to take after import: the check square, or the box of what is marked."""
    page, box = job.after.page, marks_bounds(job)
    anchors = own_mark(job.after, OwnMark.ANCHORS)
    if anchors is not None:
        left, top, right, bottom = anchors.geometry.bounds
        return f"The box of the anchors measures {size_text(right - left, bottom - top)}."
    if check_square(job.after) is not None:
        return f"A check square measures {size_text(SQUARE_SIDE, SQUARE_SIDE)}."
    if box is None:
        return f"The page measures {size_text(page.width, page.height)}."
    return f"Art and bars measure {size_text(box[2] - box[0], box[3] - box[1])}."


def _where(job: SheetJob) -> str:
    where = box_on_part(job.after)
    if where is None:
        return "Place the art on the part, and measure where it lies."
    return f"Place the middle of the file's box {where}."


def _at_part(job: SheetJob) -> list[str]:
    height = max((part.height for part in job.bench.parts), default=0.0)
    raised = f", {decimal_text(height, 2)} mm above the bed" if height else ""
    box = bars_bounds(job)
    found = [f"Focus on the marked surface{raised}."]
    if box is not None:
        wide = size_text(box[2] - box[0], box[3] - box[1])
        found.append(f"Matt sacrificial card under the bars, larger than {wide} on all sides.")
    return [
        *found,
        "No bare or reflective metal anywhere near the beam.",
        "Marking beam off: trace the box of art and bars by the visible aiming light.",
        "The light stays on part and card.",
        "Clips, screws and jig lie clear of that box.",
    ]


def _after() -> list[str]:
    return [
        "First on a spare part of the same spool.",
        "Stay with the machine; stop at any flame.",
        "Let the fumes clear before you open.",
        "Write down what you saw: even, weak, heavy, molten, and where.",
    ]
