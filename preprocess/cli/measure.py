"""``evenmark measure``: tones of a coupon, or the map of a part, from photos in the frame."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, List, Optional

import typer

from preprocess.cli import files, jobs, show, waiting
from preprocess.cli.options import HTML, AsJson, Quiet, Verbose, output
from preprocess.errors import Complaint, Exit, Place, Refusal, UserError, wrong
from preprocess.findings import Finding, warn

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preprocess.photo.photo_reading import PhotoReading
    from preprocess.photo.reading.picture import PhotoPicture
    from preprocess.photo.registering.marked_drawing import MarkedDrawing
    from preprocess.photo.tone.place_tones import PlaceTone

    Read = tuple[PhotoPicture, PhotoReading]


def measure(
    thing: Annotated[
        Optional[str],
        typer.Argument(
            metavar="THING",
            help="what was marked: a coupon (.coupon.yaml), or a recipe (YAML)",
            show_default=False,
        ),
    ] = None,
    photos: Annotated[
        Optional[List[str]],
        typer.Argument(
            metavar="PHOTO...",
            help="photos of it in the printed frame (JPEG, PNG, HEIC); they are pooled",
            show_default=False,
        ),
    ] = None,
    *,
    out: Annotated[
        str, output("page (HTML); the figures (JSON) go beside it", "--out", "-o", endings=HTML)
    ] = "",
    quiet: Quiet = False,
    verbose: Verbose = False,
    json: AsJson = False,
) -> None:
    """Measure the tones of a mark from photos.

    evenmark frame makes the page that the part lies in. Grades in words stay as they are.

    A tone never says that a setting is safe. No real photo has been checked yet: look whether the
    figures agree with your eyes.
    """
    if thing is None or not photos:
        raise typer.BadParameter("name the thing and its photos, such as moss.coupon.yaml moss.jpg")
    if jobs.is_drawing(thing):
        raise typer.BadParameter(f"{thing} is a drawing; name its recipe, or a .coupon.yaml")
    how = {"as_json": json, "quiet": quiet, "verbose": verbose}
    if thing.endswith(".coupon.yaml"):
        _measure_coupon(Path(thing), photos, out, how)
    else:
        _measure_job(thing, photos, out, how)


def _measure_coupon(path: Path, photos: Sequence[str], out: str, how: dict[str, bool]) -> None:
    from preprocess.coupon.artwork.build import build
    from preprocess.coupon.design.definition import read_definition
    from preprocess.coupon.paper.file_names import DEFINITION_SUFFIX, TABLE_SUFFIX
    from preprocess.coupon.paper.grade_columns import grade_table_bytes
    from preprocess.loading.yaml.text_files import path_exists, read_text
    from preprocess.photo.coupon_tones import (
        coupon_places,
        photo_disagreements,
        photo_tones,
        pooled_coupon,
    )
    from preprocess.photo.measured_file import measured_bytes
    from preprocess.photo.page.coupon_page import coupon_page, tone_rows
    from preprocess.photo.registering.marked_drawing import marked_drawing
    from preprocess.photo.table_columns import with_tone_columns

    stem = path.name.removesuffix(DEFINITION_SUFFIX)
    table = path.with_name(stem + TABLE_SUFFIX)
    page, figures = _targets(out, path.with_name(f"{stem}.measured.html"))
    files.check_outputs([page, figures], [path, table, *map(Path, photos)])
    definition = read_definition(path)
    with files.refusal_as_error(str(path)):
        coupon = build(definition)
    drawing, places = marked_drawing(coupon.artwork), coupon_places(coupon)
    if not places:
        _nothing_to_measure(path)

    def tones(reading: PhotoReading) -> tuple[PlaceTone, ...]:
        return photo_tones(reading, places)

    read, told, findings = _read_all(photos, drawing, definition.thickness, tones, how)
    measured = pooled_coupon(coupon, [reading for _, reading in read], told)
    findings += photo_disagreements(measured)
    if measured.left_out:
        findings.append(_left_out([one.cell for one in measured.left_out]))
    known = read_text(table) if path_exists(table) else grade_table_bytes(coupon).decode()
    written = {
        page: coupon_page(coupon, measured, read, drawing),
        figures: measured_bytes(measured),
        str(table): with_tone_columns(known, measured),
    }
    show.print_findings(tuple(findings), **how)
    if not _is_silent(how):
        show.print_table(("cell", "row span", "ΔL*", "±", "uneven", "edge"), tone_rows(measured))
        show.print_paragraph(
            "ΔL* is lightness against the bare plastic; below zero is darker. It never says that "
            "a setting is safe."
        )
    files.write_outputs([*written.items()], as_json=how["as_json"], quiet=how["quiet"])


def _measure_job(thing: str, photos: Sequence[str], out: str, how: dict[str, bool]) -> None:
    from dataclasses import replace

    from preprocess.causes.causes import causes_of
    from preprocess.photo.job_map import measured_job
    from preprocess.photo.measured_file import measured_bytes
    from preprocess.photo.page.job_page import job_page, worst_places
    from preprocess.photo.registering.marked_drawing import marked_drawing

    recipe = Path(thing)
    page, figures = _targets(out, recipe.with_name(f"{recipe.stem}.measured.html"))
    files.check_outputs([page, figures], [recipe, *map(Path, photos)])
    job = jobs.open_job(thing, None, (), quiet=True)
    result = files.convert_drawing(job.loaded, job.drawing)
    if result.data is None or result.digest is None:
        show.print_findings(result.findings, as_json=how["as_json"], quiet=True)
        raise typer.Exit(Exit.USER)
    drawing = replace(marked_drawing(result.after), fades=True)
    _expect_one_part(len(result.after.parts), drawing, thing)
    thickness = result.bench.parts[0].thickness if result.bench.parts else None
    read, _, findings = _read_all(photos, drawing, thickness, lambda _: (), how)
    readings = [reading for _, reading in read]
    bar = waiting.progress_in_slots([waiting.SIMULATION], "heat", quiet=_is_silent(how))
    with files.refusal_as_error(thing), bar:
        measured = measured_job(
            recipe.name, result.digest, readings, drawing, (result.after, result.bench)
        )
        causes = causes_of(measured)
    show.print_findings(tuple(findings), **how)
    if not _is_silent(how):
        for sentence in causes.sentences:
            show.print_paragraph(sentence)
        heads = ("place", "from the left", "from the top", "ΔL*", "against the middle")
        show.print_table(heads, worst_places(measured, drawing))
    written = [
        (page, job_page(measured, (causes.sentences, causes.heat), read, drawing)),
        (figures, measured_bytes(measured)),
    ]
    files.write_outputs(written, as_json=how["as_json"], quiet=how["quiet"])


def _expect_one_part(parts: int, drawing: MarkedDrawing, thing: str) -> None:
    if parts > 1:
        found = f"this recipe marks {parts} parts at once"
        raise wrong(found, "measure one of them with a recipe of one part", place=Place(thing))
    if drawing.areas.is_empty:
        found = "nothing of this recipe is engraved in rows"
        raise wrong(found, "only engraved areas have a tone", place=Place(thing))


def _nothing_to_measure(path: Path) -> None:
    found = "no cell of this coupon is engraved, so none has a tone"
    raise wrong(found, "grade it as its sheet says", place=Place(str(path)))


def _targets(out: str, usual: Path) -> tuple[str, str]:
    page = Path(out) if out else usual
    return str(page), str(page.with_suffix(".json"))


def _is_silent(how: dict[str, bool]) -> bool:
    return how["as_json"] or how["quiet"]


def _read_all(
    photos: Sequence[str],
    drawing: MarkedDrawing,
    thickness: float | None,
    tones: Callable[[PhotoReading], tuple[PlaceTone, ...]],
    how: dict[str, bool],
) -> tuple[list[Read], list[tuple[PlaceTone, ...]], list[Finding]]:
    """Each photo that serves, with its tones; the others are told.

    Raises:
        UserError: none serves; every reason with its photo.
    """
    from preprocess.photo.doubts import doubts
    from preprocess.photo.photo_reading import read_photo
    from preprocess.photo.reading.picture import read_picture

    read: list[Read] = []
    told: list[tuple[PlaceTone, ...]] = []
    findings: list[Finding] = []
    refused: list[Complaint] = []
    for name in waiting.each([*dict.fromkeys(photos)], "photos", quiet=_is_silent(how)):
        try:
            picture = read_picture(Path(name))
            reading = read_photo(picture, drawing, thickness)
            told.append(tones(reading))
        except UserError as error:
            refused += error.complaints
        except Refusal as refusal:
            refused.append(Complaint(refusal.found, refusal.remedy, Place(name)))
        else:
            read.append((picture, reading))
            findings += doubts(picture, reading)
    if not read:
        raise UserError(refused)
    findings += [warn("photo-not-used", f"{one.place}: {one.found}", one.remedy) for one in refused]
    return read, told, findings


def _left_out(cells: Sequence[str]) -> Finding:
    names = ", ".join(dict.fromkeys(cells))
    return warn(
        "cells-left-out",
        f"cells {names} cannot be measured in full: the page says where and why",
        "turn the part, or move the lamp, and take another photo",
    )
