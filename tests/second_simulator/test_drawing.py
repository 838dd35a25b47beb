"""Path data read by hand."""

from __future__ import annotations

import numpy as np
import pytest

from tests.second_simulator.drawing import polylines, read_paths


def test_lines_and_closed_rings():
    square, line = polylines("M1 2 H4 v3 h-3 Z M0 0 L 2 1.5")
    assert square.tolist() == [[1, 2], [4, 2], [4, 5], [1, 5], [1, 2]]
    assert line.tolist() == [[0, 0], [2, 1.5]]


def test_a_relative_path_begins_where_the_last_ended():
    one, two = polylines("m1 1 2 0 z m0 5 l1 1")
    assert one.tolist() == [[1, 1], [3, 1], [1, 1]]
    assert two.tolist() == [[1, 6], [2, 7]]


def test_millimetres_come_from_the_view_box():
    data = b"""<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="10mm"
        viewBox="-1 0 10 5"><path fill="#0072B2" fill-rule="evenodd" stroke="none" d="M0 0H1V1Z"/>
        <path fill="none" stroke="#000000" d="M0 1 H2"/><path fill="none" stroke="none" d="M0 0H1"/>
        </svg>"""
    area, line = read_paths(data)
    assert (area.colour, area.filled, area.even_odd) == ("#0072b2", True, True)
    assert np.array(area.lines[0][1]) == pytest.approx([4.0, 0.0])
    assert (line.colour, line.filled) == ("#000000", False)
