"""The flow on one page: plan, read, pass by pass, check facts, write, read back, report."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.metadata import version
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from preprocess import __version__
from preprocess.engine.facts import facts_of
from preprocess.engine.ledger import Change, totals
from preprocess.engine.progress import Progress, stepped
from preprocess.engine.proof import prove
from preprocess.engine.running import BrokenPromise
from preprocess.findings import Finding, halting, on_page, worst_first
from preprocess.marking.checks.artwork_checks import check_artwork
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.artwork.output import output_layers
from preprocess.read.seats import read_seats
from preprocess.write.digest import sha256_hex
from preprocess.write.guides.check_square import written_artwork
from preprocess.write.guides.own_marks import with_own_marks
from preprocess.write.placing import box_finding
from preprocess.write.report import RunRecord, run_report_bytes
from preprocess.write.row_figures import row_figures
from preprocess.write.svg.layer_colours import assign_colours
from preprocess.write.svg.shared_colours import share_colours
from preprocess.write.svg.svg_document import svg_bytes
from preprocess.write.verify.readback import disagreements

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from preprocess.engine.ledger import Amount
    from preprocess.engine.progress import StepMemory
    from preprocess.marking.prediction import Prediction
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench
    from preprocess.model.options.lettering import Seat
    from preprocess.recipe.load import LoadedRecipe

_UNSOLVED = "levels-without-power"
"""What a recipe without its solver cannot help, and has warned of itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Conversion:
    """One design through one recipe; a notebook shows it as the picture of what was changed.

    `name` is what messages call the design. `data` is None when a finding forbids writing.
    `before` is the artwork as read, and `drawn` the same with strokes that became areas as areas:
    its heat is compared with that of the output. `ledger` holds the changes of each step by name;
    `amounts` the totals per layer before and after. `font_files` are the files that lettering was
    taken from. `seats` are those of a tray whose labels differ.
    """

    name: str
    before: Artwork
    drawn: Artwork
    after: Artwork
    bench: Bench
    findings: tuple[Finding, ...]
    colours: Mapping[str, str]
    ledger: tuple[tuple[str, tuple[Change, ...]], ...]
    amounts: tuple[Mapping[str, Amount], Mapping[str, Amount]]
    data: bytes | None
    font_files: tuple[Path, ...] = ()
    seats: tuple[Seat, ...] = ()

    @property
    def digest(self) -> str | None:
        """SHA-256 of the written SVG, in hexadecimal."""
        return None if self.data is None else sha256_hex(self.data)

    def _repr_svg_(self) -> str:
        _, _, svg = make_overlay(self, PurePath(self.name).name).decode().partition("?>")
        return svg


def _unheard() -> None:
    """Progress that nobody waits for."""


def convert(
    loaded: LoadedRecipe,
    design: bytes,
    name: str,
    *,
    strict: bool = False,
    memory: StepMemory | None = None,
    tell: Callable[[], None] = _unheard,
) -> Conversion:
    """Rewrite a design as the recipe says; writes no file and changes nothing in the process.

    Args:
        loaded: the recipe with typed passes, machine, filament and parts.
        design: bytes of the SVG.
        name: what to call the design in messages.
        strict: warnings forbid writing too.
        memory: of this design, for recipes that begin alike.
        tell: called once the design is read, and after each step.

    Raises:
        UserError: the design is no SVG, the order of passes is impossible, a pass refuses.
        BrokenPromise: a fact, the ledger or the written text is not as declared.
    """
    bench, came = loaded.bench, _through_steps(loaded, design, name, memory, tell)
    before, after, ledger = came.before, came.after, list(came.ledger)
    found = [*came.findings, *loaded.notes]
    if loaded.recipe.share_colours:
        after, findings, shared = share_colours(after)
        found.extend(findings)
        ledger.append(("share_colours", shared))
    checked = check_artwork(after, bench)
    found.extend(one for one in checked if not (loaded.unsolved and one.code == _UNSOLVED))
    after, told, added = with_own_marks(after, loaded.own_marks, bench.machine_or_default)
    found.extend([*told, *box_finding(after)])
    ledger.extend(added)
    outputs = output_layers(written_artwork(after), guides=True)
    colours, colour_findings = assign_colours(outputs, loaded.recipe.colours, loaded.machine)
    findings = worst_first(on_page([*found, *colour_findings], after.page.left, after.page.top))
    return Conversion(
        name=name,
        before=before,
        drawn=came.drawn,
        after=after,
        bench=bench,
        findings=findings,
        colours=colours,
        ledger=tuple(ledger),
        amounts=(totals(before), totals(after)),
        data=None if halting(findings, strict=strict) else _written(after, colours),
        font_files=came.font_files,
        seats=loaded.seats,
    )


def _through_steps(
    loaded: LoadedRecipe,
    design: bytes,
    name: str,
    memory: StepMemory | None,
    tell: Callable[[], None],
) -> Progress:
    """Read a drawing and run the steps on it that have not run yet."""
    asked = loaded.options, loaded.bench, loaded.seats
    known = memory.furthest(asked, loaded.steps) if memory else None
    done, came = known or (0, _read(loaded, design, name))
    facts = {layer.name: facts_of(came.before, layer.name) for layer in came.before.layers}
    prove(loaded.steps, facts, loaded.bench, came.before)
    tell()
    for number, step in enumerate(loaded.steps[done:], done + 1):
        came = stepped(came, step, number, loaded.bench)
        tell()
        if memory is not None:
            memory.keep(asked, loaded.steps[:number], came)
    return came


def _read(loaded: LoadedRecipe, design: bytes, name: str) -> Progress:
    reading, seats = read_seats(design, name, loaded.options, loaded.seats)
    return Progress(
        before=reading.artwork,
        drawn=reading.artwork,
        after=reading.artwork,
        seats=seats,
        findings=reading.findings,
        font_files=reading.font_files,
    )


def _written(artwork: Artwork, colours: Mapping[str, str]) -> bytes:
    shown = written_artwork(artwork)
    data = svg_bytes(shown, colours=colours, guides=True)
    wrongs = disagreements(shown, colours, data, guides=True)
    if wrongs:
        raise BrokenPromise(f"the written file is not what was meant: {wrongs[0]}")
    return data


def predict_both(
    result: Conversion, tell: Callable[[float], None] = lambda _: None
) -> tuple[Prediction, Prediction]:
    """Predict the drawing as read, and the output, under the same settings: as `predict_pair`.

    Strokes that became areas are areas in both. Remedies in findings were simulated.
    """
    from preprocess.remedies.tried_prediction import predict_drawing_and_output

    return predict_drawing_and_output(result.drawn, result.after, result.bench, tell)


def prediction_findings(result: Conversion, prediction: Prediction) -> tuple[Finding, ...]:
    """The findings of a prediction of the output, with their places on its page."""
    return on_page(prediction.findings, result.after.page.left, result.after.page.top)


def _all_findings(
    result: Conversion, predicted: tuple[Prediction, Prediction] | None
) -> tuple[Finding, ...]:
    """The findings of a conversion, and of its prediction where there is one."""
    later = prediction_findings(result, predicted[1]) if predicted else ()
    return (*result.findings, *later)


def make_report(
    result: Conversion,
    loaded: LoadedRecipe,
    name: str,
    predicted: tuple[Prediction, Prediction] | None = None,
    file: str | None = None,
) -> bytes:
    """The report of a conversion as JSON; heat is in it where it was predicted.

    `file` is the path of the written SVG as seen from the report.
    """
    machine = loaded.bench.machine_or_default
    heat: tuple[dict[str, Any] | None, ...] = (None, None)
    if predicted is None:
        artworks = (result.before, result.after)
        before, after = (schedule_of(plan_of(artwork, machine), machine) for artwork in artworks)
    else:
        from preprocess.marking.prediction import heat_figures

        before, after = (prediction.schedule for prediction in predicted)
        heat = tuple(heat_figures(prediction) for prediction in predicted)
    return run_report_bytes(
        RunRecord(
            design=name,
            output=(file, result.digest),
            before=result.before,
            after=result.after,
            colours=result.colours,
            ledger=result.ledger,
            findings=_all_findings(result, predicted),
            rows=row_figures(result.after, machine),
            layer_times={layer.output.id: layer.lasts for layer in after.layers},
            times=(before.total, after.total),
            setting_up=after.setting_up,
            heat=(heat[0], heat[1]),
            seats=result.seats,
            recipe=loaded.as_run,
            changes=loaded.changes,
            versions=_versions(),
        )
    )


def make_overlay(result: Conversion, name: str) -> bytes:
    """The picture of what a conversion changed, as SVG."""
    from preprocess.preview.overlay.overlay import overlay_svg

    return overlay_svg(
        result.before,
        result.after,
        machine=result.bench.machine_or_default,
        colours=result.colours,
        title=name,
        reliefs=result.bench.reliefs,
    )


def make_sheet(
    result: Conversion,
    loaded: LoadedRecipe,
    name: str,
    predicted: tuple[Prediction, Prediction] | None = None,
    file: str | None = None,
) -> bytes:
    """The job sheet of a conversion as HTML; heat is on it where it was predicted.

    `file` is the path of the written SVG as seen from the sheet.
    """
    from preprocess.preview.sheet.job_sheet import job_sheet_html
    from preprocess.preview.sheet.sheet_job import SheetJob

    return job_sheet_html(
        SheetJob(
            title=name,
            output=(file, result.digest),
            before=result.before,
            after=result.after,
            bench=result.bench,
            colours=result.colours,
            findings=_all_findings(result, predicted),
            predicted=predicted,
            seats=result.seats,
            recipe=loaded.as_run,
            versions=_versions(),
        )
    )


def _versions() -> dict[str, str]:
    libraries = ("shapely", "numpy", "scipy", "lxml", "skia-pathops")
    return {"evenmark": __version__, **{library: version(library) for library in libraries}}
