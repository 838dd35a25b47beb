"""The page of a job: one file that plays the beam back, as drawn beside as rewritten.

It needs no network. What it tells in words, tables and stills needs no script either. Its policy
admits this one script and this one style sheet by their hashes, and nothing else.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from preprocess.findings import counted
from preprocess.playback.block.playback import SIDES, packed, playback_of, seen_box
from preprocess.playback.page.glow import DIRECTION, glow_ramp, glow_scale, top_of
from preprocess.playback.page.headline import headline
from preprocess.playback.page.offered import offered_findings, offered_places
from preprocess.playback.page.still import still_picture
from preprocess.playback.scripts.joined import joined_scripts
from preprocess.preview.drawing.as_drawn import placing_of
from preprocess.preview.drawing.html import own_file, render_page, source_hash
from preprocess.preview.heat_map.scale import heat_scale
from preprocess.preview.sheet.checklist import CAUTIONS
from preprocess.preview.sheet.layer_steps import layer_steps
from preprocess.preview.sheet.quantities import duration_text
from preprocess.preview.sheet.sheet_job import SheetJob

if TYPE_CHECKING:
    from preprocess.geometry.base.bounds import Bounds
    from preprocess.marking.prediction import Prediction
    from preprocess.pipeline import Conversion

_PACKAGE = "preprocess.playback.page"
_ENTRY = "../page/scripts/app"
_MARGIN = 0.8
"""mm around the job, as on the stages."""


def playback_page(
    conversion: Conversion, predictions: tuple[Prediction, Prediction], title: str
) -> bytes:
    """The page as UTF-8 HTML; the same job gives the same bytes.

    Args:
        conversion: the job; its texts are escaped.
        predictions: of the drawing as read, and of the output.
        title: what the page is called.
    """
    before, after = predictions
    block = playback_of(conversion, predictions, title)
    head, data = (Markup(text) for text in packed(block))  # noqa: S704 - letters and digits
    scale = heat_scale(after.heat)
    top = top_of(scale, max(one.heat.largest for one in predictions))
    window = scale.limits if after.heat.calibrated else ()
    placing, boxes = placing_of(conversion.after), _boxes(conversion)
    facts = {
        "base": scale.base,
        "boxes": boxes,
        "names": SIDES,
        "placing": placing and placing.matrix,
        "ramp": "".join(glow_ramp()).replace("#", ""),
        "top": top,
        "window": {one.name: one.at for one in window} or None,
    }
    css, script = own_file(_PACKAGE, "page.css"), Markup(joined_scripts(_ENTRY))  # noqa: S704 - our own
    return render_page(
        _PACKAGE,
        "page.html",
        title=title,
        policy=_policy(css, script),
        css=css,
        script=script,
        headline=headline(before, after),
        trust=after.heat.trust,
        simplified=block.head["simplified"],
        direction=DIRECTION,
        scale=glow_scale(scale, top, window=bool(window)),
        sides=_sides(conversion, predictions, (boxes, top, scale.base)),
        places=offered_places(before, after),
        findings=offered_findings(block.head["sides"]),
        layers=_layers(conversion, predictions, title),
        cautions=CAUTIONS,
        page=_json(facts),
        head=head,
        data=data,
    )


def _policy(css: str, script: str) -> str:
    """The page may run and show what is in it, and ask for nothing."""
    return (
        f"default-src 'none'; script-src {source_hash(script)}; style-src {source_hash(css)}; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )


def _json(value: dict[str, Any]) -> Markup:
    """Data for the script; no text in it can end the element that holds it."""
    text = json.dumps(value, ensure_ascii=True, separators=(",", ":"))
    return Markup(text.replace("<", "\\u003c"))  # noqa: S704 - escaped for a script element


def _boxes(conversion: Conversion) -> tuple[Bounds, Bounds]:
    """What each side shows, mm: the same place, unless the drawing was placed elsewhere."""
    both = conversion.drawn, conversion.after
    if placing_of(conversion.after) is None:
        box = _rounded(seen_box(*both))
        return box, box
    return _rounded(seen_box(both[0])), _rounded(seen_box(both[1]))


def _rounded(box: Bounds) -> Bounds:
    x0, y0, x1, y1 = (round(mm, 3) for mm in box)
    return x0, y0, x1, y1


def _grown(box: Bounds) -> Bounds:
    x0, y0, x1, y1 = box
    return x0 - _MARGIN, y0 - _MARGIN, x1 + _MARGIN, y1 + _MARGIN


def _sides(
    conversion: Conversion,
    predictions: tuple[Prediction, Prediction],
    how: tuple[tuple[Bounds, Bounds], float, float],
) -> list[dict[str, Any]]:
    """Name, figures and still picture of each side."""
    boxes, top, base = how
    found = []
    artworks = conversion.drawn, conversion.after
    for name, artwork, one, box in zip(SIDES, artworks, predictions, boxes, strict=True):
        heat, layers = one.heat, counted(len(one.schedule.layers), "layer")
        facts = [duration_text(one.schedule.total), layers]
        if heat.images:
            facts.append(f"index up to {heat.largest / base:.2f}")
        words = f"{name}: the hottest so far at the end of the job"
        still = still_picture(artwork, heat.images, _grown(box), top, words)
        found.append({"name": name, "facts": ", ".join(facts), "still": still})
    return found


def _layers(
    conversion: Conversion, predictions: tuple[Prediction, Prediction], title: str
) -> list[dict[str, Any]]:
    """Rows of the table, as the job sheet words them, with a swatch that needs no style."""
    job = SheetJob(
        title=title,
        before=conversion.before,
        after=conversion.after,
        bench=conversion.bench,
        colours=conversion.colours,
        predicted=predictions,
    )
    return [{"step": one, "swatch": _swatch(one.colour)} for one in layer_steps(job) if one.number]


def _swatch(colour: str) -> Markup:
    return Markup(
        '<svg viewBox="0 0 9 5.5" aria-hidden="true"><rect x=".2" y=".2" width="8.6" height="5.1" '
        'fill="{}" stroke="#1c1c1c" stroke-width=".4"/></svg>'
    ).format(colour)
