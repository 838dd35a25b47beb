"""Warnings about the print's own lines and about curved surfaces."""

import dataclasses

import pytest

from preprocess.marking.machine.surface import angle_between, depth_of_focus, surface_findings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine
from preprocess.model.bench.part import Part, PrintLines
from tests.marking.drawn import ENGRAVED, artwork, shape, square


def codes(*, angle=0.0, pitch=0.11, lines=None, rises=0.0, machine=None):
    settings = dataclasses.replace(ENGRAVED, angle=angle, pitch=pitch)
    part = Part(outline="#label", print_lines=lines, height_range=rises)
    bench = Bench(parts=(part,), machine=machine)
    art = artwork(shape(square(0, 0, 4)), settings=settings)
    return [finding.code for finding in surface_findings(art, bench)]


@pytest.mark.parametrize(
    ("angle", "lines", "along"),
    [(0, 0, True), (14.9, 0, True), (15.1, 0, False), (90, 0, False), (178, -3, True),
     (45, 225, True), (45, 135, False)],
)  # fmt: skip
def test_rows_along_the_print_lines_show_stripes(angle, lines, along):
    found = codes(angle=angle, lines=PrintLines(angle=lines, spacing=0.4))
    assert ("rows-along-print-lines" in found) == along


@pytest.mark.parametrize(
    ("pitch", "divides"), [(0.1, True), (0.2, True), (0.4, True), (0.11, False), (0.5, False),
                           (0.1335, True), (0.15, False)],
)  # fmt: skip
def test_a_pitch_that_divides_their_spacing_can_beat(pitch, divides):
    found = codes(angle=90, pitch=pitch, lines=PrintLines(spacing=0.4))
    assert ("pitch-divides-print-lines" in found) == divides


def test_the_suggested_pitch_does_not_divide_the_spacing():
    settings = dataclasses.replace(ENGRAVED, angle=90.0, pitch=0.1)
    part = Part(outline="#label", print_lines=PrintLines(spacing=0.4))
    art = artwork(shape(square(0, 0, 4)), settings=settings)
    (finding,) = surface_findings(art, Bench(parts=(part,)))
    assert "0.0889 mm" in finding.remedy
    assert codes(angle=90, pitch=0.0889, lines=PrintLines(spacing=0.4)) == []


def test_an_ideal_beam_holds_its_focus_over_twice_the_rayleigh_range():
    # w0 = 0.04 mm at 1.064 µm: z = π w0²/λ = 4.724 mm to either side
    assert depth_of_focus(0.08, 1.064e-3) == pytest.approx(2 * 4.7242, abs=1e-3)
    assert depth_of_focus(0.16, 1.064e-3) == pytest.approx(4 * depth_of_focus(0.08, 1.064e-3))


@pytest.mark.parametrize(("rises", "warned"), [(9.0, False), (10.0, True)])
def test_a_surface_that_leaves_the_focus_is_named(rises, warned):
    machine = Machine(spot=0.08, wavelength=1.064e-3)
    assert ("beyond-the-focus" in codes(rises=rises, machine=machine)) == warned
    assert codes(rises=rises, machine=Machine(spot=0.08)) == []


def test_without_print_lines_nothing_is_said():
    assert codes() == []


def test_directions_have_no_sense():
    assert angle_between(10, 190) == 0
    assert angle_between(-80, 90) == pytest.approx(10)
    assert angle_between(0, 90) == 90
