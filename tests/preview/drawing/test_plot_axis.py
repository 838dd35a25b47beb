"""Axes of plots: places and ticks worked out by hand."""

from __future__ import annotations

import pytest

from preprocess.preview.drawing.plot_axis import PlotAxis, PlotFrame, log_ticks


def test_a_linear_axis_begins_and_ends_at_a_tick() -> None:
    axis = PlotAxis.linear(3.0, 14.0)
    assert axis.ticks == (0.0, 5.0, 10.0, 15.0)
    assert (axis.low, axis.high) == (0.0, 15.0)
    assert axis.share(6.0) == pytest.approx(0.4)


def test_the_geometric_mean_lies_in_the_middle_of_a_logarithmic_axis() -> None:
    axis = PlotAxis(0.1, 10.0, (), logarithmic=True)
    assert axis.share(1.0) == pytest.approx(0.5)
    assert axis.share(100.0) == 1.0
    assert log_ticks(0.15, 12.0) == (0.2, 0.3, 0.5, 0.7, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0)


def test_larger_values_lie_lower_unless_the_frame_is_upward() -> None:
    axis = PlotAxis(0.0, 10.0, (0.0, 10.0))
    downward = PlotFrame(5.0, 7.0, 20.0, 40.0, axis, axis)
    upward = PlotFrame(5.0, 7.0, 20.0, 40.0, axis, axis, upward=True)
    assert (downward.x(5.0), downward.y(2.0)) == (15.0, 15.0)
    assert upward.y(2.0) == pytest.approx(39.0)
