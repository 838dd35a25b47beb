"""A plot of tones along blades, by the span of their rows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.preview.drawing.canvas import Paint, mm, path, svg_text, text
from preprocess.preview.drawing.html import inline_svg
from preprocess.preview.drawing.plot_axis import PlotAxis, PlotFrame, log_ticks

if TYPE_CHECKING:
    from markupsafe import Markup

    from preprocess.photo.measured import MeasuredCoupon

_COLOURS = "#0072b2", "#d55e00", "#009e73", "#cc79a7", "#56b4e9", "#e69f00", "#000000"
_SIZE = 120.0, 75.0
_DOT = 0.7


def blade_plot(measured: MeasuredCoupon) -> Markup | None:
    """Tone against row span, one course to a blade; None for a coupon without blades."""
    along = [p for p in measured.places if p.at is not None and p.span]
    if not along:
        return None
    spans, tones = [p.span or 1.0 for p in along], [p.tone for p in along]
    low, high = min(spans), max(spans)
    across = PlotAxis(low, high, log_ticks(low, high), logarithmic=True)
    down = PlotAxis.linear(min(tones) - 0.5, max(tones) + 0.5)
    frame = PlotFrame(16.0, 6.0, _SIZE[0] - 22.0, _SIZE[1] - 20.0, across, down, upward=True)
    ticks = [piece for tick in (*frame.across_ticks, *frame.down_ticks) for piece in tick]
    lines = [*ticks, *frame.axes, text(2.0, 3.5, "tone, ΔL*", bold=True)]
    lines.append(text(_SIZE[0] - 4.0, _SIZE[1] - 3.0, "row span, mm", end=True, bold=True))
    for number, cell in enumerate(dict.fromkeys(p.cell for p in along)):
        colour = _COLOURS[number % len(_COLOURS)]
        mine = [p for p in along if p.cell == cell]
        course = [(p.span or 1.0, p.tone) for p in mine]
        lines += path(frame.curve(course), Paint(stroke=colour, width=0.4))
        places = [(mm(frame.x(span)), mm(frame.y(tone))) for span, tone in course]
        lines += [f'<circle cx="{x}" cy="{y}" r="{_DOT}" fill="{colour}"/>' for x, y in places]
        last = course[-1]
        lines.append(text(frame.x(last[0]) + 1.5, frame.y(last[1]) - 1.2, cell, bold=True))
    return inline_svg(svg_text("Tone by row span", lines, _SIZE), "plot")
