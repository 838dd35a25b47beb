"""The report: what a run did, as JSON for scripts. Every key is described in docs/use/report.md."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, field
from math import fsum
from typing import TYPE_CHECKING, Any

from preprocess.engine.ledger import Amount, totals
from preprocess.errors import Place, wrong
from preprocess.model.artwork.grey import WHITE
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Operation
from preprocess.plain_text import escape_directions
from preprocess.write.digest import sha256_hex
from preprocess.write.placing import growth, offset
from preprocess.write.svg.png_bytes import png_bytes

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.engine.ledger import Change
    from preprocess.findings import Finding
    from preprocess.model.artwork.artwork import Artwork, Page
    from preprocess.model.artwork.grey import GreyImage
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.artwork.picture import Picture
    from preprocess.model.options.lettering import Seat

_VERSION = 1
_DIGITS = 6

Json = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRecord:
    """Facts of one run, for its report.

    `output` is the written SVG: its path as seen from the report, and its SHA-256;
    `rows` holds figures of the rows by output id, as `write.row_figures.row_figures` makes them;
    `layer_times` the marking time in s by output id, `times` that of the whole (before, after),
    `setting_up` what a person is taken to need to type the layers in, s;
    `heat` the heat index (before, after); `changes` what `--set` set in the
    recipe. What was not computed stays None or empty.
    """

    design: str
    before: Artwork
    after: Artwork
    colours: Mapping[str, str]
    output: tuple[str | None, str | None] = (None, None)
    ledger: Sequence[tuple[str, Sequence[Change]]] = ()
    findings: Sequence[Finding] = ()
    rows: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    layer_times: Mapping[str, float] = field(default_factory=dict)
    times: tuple[float | None, float | None] = (None, None)
    setting_up: float | None = None
    heat: tuple[Mapping[str, Any] | None, Mapping[str, Any] | None] = (None, None)
    seats: Sequence[Seat] = ()
    recipe: Mapping[str, Any] = field(default_factory=dict)
    changes: Sequence[str] = ()
    versions: Mapping[str, str] = field(default_factory=dict)


def run_report_bytes(run: RunRecord) -> bytes:
    """The report as UTF-8 JSON; numbers have six significant digits."""
    told = {
        "report": _VERSION,
        "design": run.design,
        "output": {"file": run.output[0], "sha256": run.output[1]},
        "layers": [_layer(output, run) for output in output_layers(run.after)],
        "ledger": _ledger(run),
        "rows": [{"layer": key, **figures} for key, figures in run.rows.items()],
        "heat": {"before": run.heat[0], "after": run.heat[1]},
        "time_s": {
            "before": run.times[0],
            "after": run.times[1],
            "setting_up": run.setting_up,
        },
        "page": _page(run),
        "seats": [
            {"plate": seat.plate, "seat": seat.number, "says": seat.says} for seat in run.seats
        ],
        "images": [_picture(picture, run.after.page) for picture in run.after.pictures],
        "findings": [_finding(finding) for finding in run.findings],
        "recipe_as_run": run.recipe,
        "set_by_command": list(run.changes),
        "versions": dict(sorted(run.versions.items())),
    }
    text = json.dumps(_rounded(told), indent=2, ensure_ascii=False, allow_nan=False)
    return f"{text}\n".encode()


def output_in_report(data: bytes, name: str) -> tuple[str | None, str]:
    """Entry of a report on the SVG it belongs to: path as seen from the report, and SHA-256.

    Raises:
        UserError: it is no report, or one that tells of no SVG.
    """
    try:
        told = json.loads(data)["output"]
        file, digest = told["file"], str(told["sha256"] or "")
    except (ValueError, TypeError, KeyError, RecursionError):
        digest = ""
    if not digest:
        found = "this is no report that tells to which SVG it belongs"
        raise wrong(found, "name the file that --report wrote", place=Place(name))
    return file if isinstance(file, str) else None, digest


def _layer(output: OutputLayer, run: RunRecord) -> Json:
    bars = fsum(shape.bars.area for shape in output.shapes if shape.bars is not None)
    filled = output.operation is Operation.ENGRAVE
    area = fsum(shape.geometry.area for shape in output.shapes) if filled else 0.0
    length = 0.0 if filled else fsum(shape.geometry.length for shape in output.shapes)
    return {
        "id": output.id,
        "layer": output.layer,
        "level": output.level,
        "operation": str(output.operation),
        "colour": run.colours.get(output.id),
        "settings": _settings(output),
        "shapes": len(output.shapes),
        "area_mm2": area,
        "bars_mm2": bars,
        "length_mm": length,
        "rows": run.rows.get(output.id, {}).get("lit"),
        "time_s": run.layer_times.get(output.id),
        **({"greys": [_greys(s.grey) for s in output.shapes if s.grey]} if output.in_greys else {}),
    }


def _greys(image: GreyImage) -> Json:
    """One image: the hash of its PNG and the range of its greys; white marks nothing."""
    cell, apart = image.cell
    marked = sorted(set(image.greys) - {WHITE})
    return {
        "sha256": sha256_hex(png_bytes(image)),
        "pixels": [image.columns, image.rows],
        "pixel_mm": [cell, apart],
        "darkest": marked[0] if marked else None,
        "lightest": marked[-1] if marked else None,
        "marked_pixels": len(image.greys) - image.greys.count(WHITE),
    }


def _settings(output: OutputLayer) -> Json:
    settings = output.settings
    power = None if output.in_greys else settings.power
    return {
        "power_percent": None if power is None else 100 * power,
        "speed_mm_s": settings.speed,
        "pitch_mm": settings.pitch,
        "direction": None if settings.direction is None else str(settings.direction),
        "angle_deg": settings.angle,
        "repeats": settings.repeats,
        "extra": dict(settings.extra),
    }


def _ledger(run: RunRecord) -> list[Json]:
    """Layer by layer: what came in, what each step added and removed, what went out."""
    start, end = totals(run.before), totals(run.after)
    names = dict.fromkeys([*start, *end])
    return [
        {
            "layer": name,
            "in": _amount(start.get(name, Amount())),
            "steps": [
                {
                    "step": step,
                    "added": _amount(change.added),
                    "removed": _amount(change.removed),
                    "why": escape_directions(change.why),
                }
                for step, changes in run.ledger
                for change in changes
                if change.layer == name
            ],
            "out": _amount(end.get(name, Amount())),
        }
        for name in names
    ]


def _amount(amount: Amount) -> Json:
    return {"area_mm2": amount.area, "length_mm": amount.length}


def _page(run: RunRecord) -> Json:
    page = run.after.page
    return {
        "width_mm": page.width,
        "height_mm": page.height,
        "size_from": page.size_from,
        "growth_mm": growth(run.before.page, page),
        "offset": offset(run.after),
    }


def _picture(picture: Picture, page: Page) -> Json:
    a, b, _, _, e, f = picture.matrix
    width, height = picture.size
    return {
        "id": picture.id,
        "type": picture.media,
        "pixels": list(picture.pixels),
        "x_mm": e - page.left,
        "y_mm": f - page.top,
        "width_mm": width,
        "height_mm": height,
        "turned_deg": math.degrees(math.atan2(-b, a)),
    }


def _finding(finding: Finding) -> Json:
    return {
        "code": finding.code,
        "severity": str(finding.severity),
        "message": escape_directions(finding.message),
        "remedy": escape_directions(finding.remedy),
        "elements": list(finding.elements),
        "layer": finding.layer,
        "line": finding.line,
        "spot_mm": None if finding.spot is None else list(finding.spot),
    }


def _rounded(value: Any) -> Any:
    """Floats to six significant digits, without minus zero; what is no number becomes null."""
    if isinstance(value, float):
        return float(f"{value:.{_DIGITS}g}") + 0.0 if math.isfinite(value) else None
    if hasattr(value, "items"):
        return {str(key): _rounded(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(inner) for inner in value]
    return value
