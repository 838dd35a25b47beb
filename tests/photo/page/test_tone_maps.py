"""Maps of a job in one scale: what heat adds is taken off what was measured."""

import base64
import io
import re

import numpy as np
from PIL import Image

from preprocess.photo.measured import MeasuredJob
from preprocess.photo.page.tone_maps import map_figures


def pixels(figure):
    data = re.search(r"data:image/png;base64,([^\"]+)", str(figure))[1]
    return np.array(Image.open(io.BytesIO(base64.b64decode(data))))


def test_where_heat_tells_all_nothing_is_left_over():
    heat = 0.25 * np.arange(-20, 21) * np.ones((30, 1))
    job = MeasuredJob(
        name="fern.yaml",
        drawing="0" * 64,
        origin=(0.0, 0.0),
        step=0.2,
        ground=60.0,
        photos=(),
        tone=heat - 20,
        index=np.ones_like(heat),
        wider=np.exp(heat / 100),
        noise=0.5,
    )
    measured, predicted, left = (pixels(figure) for figure, _ in map_figures(job, heat)[:3])
    assert (measured == predicted).all()
    assert len(np.unique(measured.reshape(-1, 4), axis=0)) > 30
    assert len(np.unique(left.reshape(-1, 4), axis=0)) == 1
