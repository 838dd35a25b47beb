"""Part, filament, machine, size and time: the head of the sheet."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from preprocess.findings import counted
from preprocess.geometry.base.bounds import joint_bounds
from preprocess.marking.job.grey_rows import image_outline
from preprocess.marking.machine.datum import datum_of
from preprocess.model.artwork.output import output_layers
from preprocess.preview.drawing.as_drawn import in_words, placing_of
from preprocess.preview.sheet.layer_steps import job_schedule
from preprocess.preview.sheet.quantities import (
    duration_text,
    percent_text,
    size_text,
)
from preprocess.units import fixed, place_text
from preprocess.write.placing import growth, offset
from preprocess.write.svg.decimals import decimal_text

if TYPE_CHECKING:
    from preprocess.geometry.base.bounds import Bounds
    from preprocess.model.bench.filament import Filament
    from preprocess.model.bench.machine import Machine
    from preprocess.preview.sheet.sheet_job import SheetJob

_Fact = tuple[str, str]


def job_facts(job: SheetJob) -> list[_Fact]:
    """Facts of the job, as pairs of a word and its value."""
    return [
        ("Part", _part(job)),
        ("Filament", _filament(job.bench.filament)),
        ("Machine", _machine(job.bench.machine)),
        ("Page of the file", _page(job)),
        ("Art and bars", _marks(job)),
        ("Part's centre", _centre(job)),
        *([("Datum of the card", _datum(job))] if job.after.parts else []),
        ("Expected time", _time(job)),
    ]


def marks_bounds(job: SheetJob) -> Bounds | None:
    """Box of all that is marked, bars and whole images included, in the artwork's coordinates."""
    shapes = [shape for output in output_layers(job.after) for shape in output.shapes]
    marks = [g for s in shapes for g in (s.geometry, s.bars) if g is not None]
    images = [image_outline(shape.grey) for shape in shapes if shape.grey is not None]
    return joint_bounds([*marks, *images])


def bars_bounds(job: SheetJob) -> Bounds | None:
    """Box of all bars; None without bars."""
    return joint_bounds(shape.bars for shape in job.after.shapes if shape.bars)


def _part(job: SheetJob) -> str:
    if not job.after.parts:
        return "not known"
    boxes = (part.bounds for part in job.after.parts)
    sizes = Counter(size_text(x1 - x0, y1 - y0) for x0, y0, x1, y1 in boxes)
    words = [" and ".join(f"{n} of {size}" if n > 1 else size for size, n in sizes.items())]
    for part in job.bench.parts[:1]:
        if part.thickness is not None:
            words.append(f"{decimal_text(part.thickness, 2)} mm thick")
        if part.height:
            words.append(f"its surface {decimal_text(part.height, 2)} mm above the bed")
    return ", ".join(words)


def _filament(filament: Filament | None) -> str:
    if filament is None:
        return "not known: no settings were checked against it"
    words = [filament.name, *([f"marks {filament.mark}"] if filament.mark else [])]
    if filament.polymer and filament.polymer not in filament.name:
        words.insert(1, filament.polymer)
    even = filament.reference
    if even is not None:
        how = f"{percent_text(even.power)}, {decimal_text(even.speed, 2)} mm/s"
        words.append(f"even at {how}, {decimal_text(even.pitch, 4)} mm")
    return ", ".join(words)


def _machine(machine: Machine | None) -> str:
    if machine is None:
        return "not known"
    field = f", field {size_text(*machine.field)}" if machine.field else ""
    return f"{machine.name} ({machine.mover}){field}"


def _page(job: SheetJob) -> str:
    page = job.after.page
    words = f"{size_text(page.width, page.height)}, from {page.size_from}"
    grown = growth(job.before.page, page)
    sides = [f"{fixed(mm, 2)} mm {side}" for side, mm in grown.items() if abs(mm) > 5e-3]  # noqa: PLR2004 - what is shown
    if sides:
        words += f"; grown {', '.join(sides)}"
    placing = placing_of(job.after)
    return words if placing is None else f"{words}; drawing {in_words(placing)}"


def _marks(job: SheetJob) -> str:
    box, page = marks_bounds(job), job.after.page
    if box is None:
        return "nothing"
    at = place_text((box[0] - page.left, box[1] - page.top), 2)
    return f"{size_text(box[2] - box[0], box[3] - box[1])}, upper left corner at {at} on the page"


def _centre(job: SheetJob) -> str:
    """For software that places what it imports by its box."""
    away = offset(job.after)
    if away is None:
        return "not known"
    words = []
    for mm, (before, after) in ((away["x_mm"], _SIDES[0]), (away["y_mm"], _SIDES[1])):
        if abs(mm) > 5e-4:  # noqa: PLR2004 - half of what is shown
            words.append(f"{decimal_text(abs(mm), 3)} mm {after if mm > 0 else before}")
    if not words:
        return "on the middle of the file's box"
    return f"{' and '.join(words)} the middle of the file's box"


def _datum(job: SheetJob) -> str:
    """Places of the card's crosses, which bring parts back to the same place."""
    page, points = job.after.page, datum_of(job.after, job.bench.machine_or_default).points
    places = (place_text((x - page.left, y - page.top), 2) for x, y in points)
    return f"crosses at {' and '.join(places)} from the upper left corner of the page"


_SIDES = (("left of", "right of"), ("above", "below"))


def _time(job: SheetJob) -> str:
    schedule = job_schedule(job)
    words = (
        f"{duration_text(schedule.total)} of marking" if schedule.visits else "marking: not known"
    )
    typing = f"about {duration_text(schedule.setting_up)} to type in"
    count = counted(len(output_layers(job.after)), "colour layer")
    more = f"; no speed for {', '.join(schedule.untimed)}" if schedule.untimed else ""
    return f"{words}, {typing} {count}{more}"
