"""What is written is compared with the artwork before it leaves."""

import pytest

from preprocess.model.artwork.output import output_layers
from preprocess.model.bench.machine import Machine
from preprocess.write import verified
from preprocess.write.svg.layer_colours import assign_colours
from preprocess.write.svg.svg_document import svg_bytes
from preprocess.write.verified import Miswritten, verified_svg
from tests.labels import fern_label

LABEL = fern_label()
COLOURS, _ = assign_colours(output_layers(LABEL), {}, Machine())


def test_a_good_file_comes_as_it_was_written():
    assert verified_svg(LABEL, COLOURS) == svg_bytes(LABEL, colours=COLOURS)


def test_a_file_with_another_colour_is_held_back(monkeypatch):
    def damaged(artwork, *, colours, guides):
        return svg_bytes(artwork, colours=colours, guides=guides).replace(b"#0072b2", b"#0072b3", 1)

    monkeypatch.setattr(verified, "svg_bytes", damaged)
    with pytest.raises(Miswritten, match=r"fronds-1: .*#0072b3"):
        verified_svg(LABEL, COLOURS)
