"""The heat solver against a finite-volume solution of the heat equation in a cross-section.

Across the rows and into the plastic the body is cut into cells; rows are long, so that nothing
changes along them near their middle. The beam takes a while to pass, so that its light falls in
twelve pulses. Space is discretised, time is not: between two pulses the cells relax by the exact
exponential of the flow matrix of each direction.
"""

import numpy as np
import pytest
from scipy.linalg import eigh
from scipy.special import ndtr
from shapely import box

from preprocess.marking.solver.field.heat_solver import solve_heat
from tests.marking.drawn import artwork, shape
from tests.marking.struck import at, plastic, settings, struck

STUFF = plastic()
ALPHA, CAPACITY = STUFF.solid.alpha, STUFF.solid.capacity


EDGES = np.linspace(-3.0, 3.0, 13)
PASSING = tuple(
    zip(((EDGES[:-1] + EDGES[1:]) / 2).tolist(), np.diff(ndtr(EDGES)).tolist(), strict=True)
)
"""Pulses of a passing beam: when, in times that it takes to go sigma, and their shares."""


class Relaxing:
    """One direction, insulated at both ends: cells relax by exp(−A t), A from face to face."""

    def __init__(self, faces):
        self.width = np.diff(faces)
        flow = ALPHA / ((self.width[:-1] + self.width[1:]) / 2)
        matrix = np.zeros((len(self.width), len(self.width)))
        for n, f in enumerate(flow):
            matrix[n : n + 2, n : n + 2] += [[f, -f], [-f, f]]
        root = np.sqrt(self.width)
        self.rates, vectors = eigh(matrix / root[:, None] / root[None, :])
        self.into, self.back = vectors.T * root, vectors / root[:, None]
        self.known = {}

    def over(self, seconds):
        """The flow over a while; most whiles are those between two pulses of one passage."""
        key = round(seconds, 12)
        if key not in self.known:
            self.known[key] = self.back @ (np.exp(-self.rates * key)[:, None] * self.into)
        return self.known[key]


def cross_section(times, rows, energies, wanted):
    """Smoothed surface warmth at `wanted` rows just after each pulse, pulses × rows."""
    y_faces = np.arange(-1.5, 2.5001, 0.01)
    fine, coarse = np.arange(0, 0.02, 0.001), np.arange(0.02, 0.1, 0.004)
    z_faces = np.concatenate([fine, coarse, np.geomspace(0.1, 3.0, 60)])
    across, inward = Relaxing(y_faces), Relaxing(z_faces)
    absorbed = np.exp(-z_faces[:-1] / 0.05) - np.exp(-z_faces[1:] / 0.05)
    kelvin = np.zeros((len(across.width), len(inward.width)))
    middle = (y_faces[:-1] + y_faces[1:]) / 2
    seen = []
    now = times[0]
    for time, row, energy in zip(times, rows, energies, strict=True):
        kelvin = across.over(time - now) @ kelvin @ inward.over(time - now).T
        struck_share = np.diff(ndtr((y_faces - row) / STUFF.sigma))
        pulse = np.outer(struck_share / across.width, absorbed / inward.width)
        kelvin = kelvin + energy / CAPACITY * pulse
        surface = kelvin[:, 0] + (kelvin[:, 0] - kelvin[:, 1]) / 2
        window = np.exp(-((np.subtract.outer(wanted, middle)) ** 2) / (2 * STUFF.smooth))
        seen.append(window @ surface / window.sum(axis=1))
        now = time
    energy_left = CAPACITY * across.width @ kelvin @ inward.width
    assert energy_left == pytest.approx(sum(energies), rel=1e-9)
    return np.array(seen)


def test_three_layers_and_two_powers_in_a_cross_section():
    names = ["first", "second", "third"]
    powers = dict(zip(names, [1.0, 0.6, 0.6], strict=True))
    art = artwork(
        shape(box(0, 0, 12, 1), "first"),
        shape(box(0, 0.2, 12, 1), "second"),
        shape(box(0, 0.05, 12, 0.75), "third"),
        settings={n: settings(600.0, power=powers[n], two_way=n != "third") for n in names},
    )
    every = struck(art)
    fields = solve_heat(every, STUFF, 0.1)
    u = 6.05
    pulses = sorted(
        (visit + late * STUFF.sigma / s.speed, y, s.energy * share, n)
        for n, s in enumerate(every)
        for row, y in enumerate(s.y.tolist())
        for visit in [float(s.entered[row] + (u if s.forward[row] else 12 - u) / s.speed)]
        for late, share in PASSING
    )
    times, rows, energies, layer = (np.array(x) for x in zip(*pulses, strict=True))
    assert len(times) == len(PASSING) * (10 + 8 + 7)
    wanted_rows = np.unique(np.concatenate([field.exposure.y for field in fields]))
    every_row = cross_section(times, rows, energies, wanted_rows)
    for n, field in enumerate(fields):
        seen = every_row[:, np.searchsorted(wanted_rows, field.exposure.y)]
        for row, y in enumerate(field.exposure.y.tolist()):
            first = np.flatnonzero((layer == n) & (rows == y))[0]
            wanted = seen[first:, row].max()  # later layers raise it too
            assert at(field, u, y) == pytest.approx(wanted, rel=0.01)
