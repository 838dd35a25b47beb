"""Rows gathered into bands, by hand."""

from __future__ import annotations

import numpy as np

from preprocess.preview.row_profile.envelopes import envelopes


def test_bands_reach_from_the_smallest_to_the_largest() -> None:
    at = np.array([0.0, 0.1, 0.2, 0.9, 1.1, 5.0])
    found = envelopes(at, np.array([3.0, 1.0, 2.0, 7.0, np.nan, 4.0]), 0.0, 0.5)
    assert [(band.top, band.least.tolist(), band.most.tolist()) for band in found] == [
        (0.0, [1.0, 7.0], [3.0, 7.0]),
        (5.0, [4.0], [4.0]),
    ]
    assert found[1].outline() == [(4.0, 5.0), (4.0, 5.5), (4.0, 5.5), (4.0, 5.0)]
