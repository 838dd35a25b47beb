"""Kernels against values of 25-digit quadrature, closed forms and independent series."""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import erfc, k0

from preprocess.marking.solver.kernels import Solid

BLACK, SURFACE = Solid(depth=0.05), Solid(depth=0.0)
ALPHA = 1.5e-4 / 2.232e-3
SIGMA = 0.02
EXACT, LOCAL = 1e-6, 2e-3


def spot(solid, power, speed, x, *, sigma=SIGMA, y=0.0, seconds=math.inf, lag=0.0):
    """A spot that came from −x and stands at 0 (or left `lag` s ago): tau = s² tames the root."""

    def strike(s):
        tau = s * s + lag
        return 2 * s * solid.point(power, math.hypot(x + speed * s * s, y), tau, sigma=sigma)

    knots = [0.0, 0.003, 0.01, 0.03, 0.1, 0.3, 1, 3, 10, 100]
    knots = [k for k in knots if k < math.sqrt(seconds)] + [min(math.sqrt(seconds), 1000)]
    return sum(
        quad(strike, a, b, epsabs=1e-10, epsrel=1e-12, limit=400)[0] for a, b in pairwise(knots)
    )


def moving_line(solid, power, front, xi, *, smooth=0.0):
    def strike(s):
        tau = s * s
        return 2 * s * solid.line(power, xi + front * tau, tau, sigma=0.0, smooth=smooth)

    knots = [1e-9, 0.01, 0.05, 0.2, 1, 5, 30]
    return sum(
        quad(strike, a, b, epsabs=1e-12, epsrel=1e-12, limit=400)[0] for a, b in pairwise(knots)
    )


@pytest.mark.parametrize(
    ("solid", "y", "tau", "kelvin"),
    [
        (SURFACE, 0.0, 0.008, 339.690252322),
        (SURFACE, 0.08, 0.008, 38.8200928631),
        (BLACK, 0.0, 0.008, 177.232776143),
        (BLACK, 0.0, 0.6, 5.14130032405),
    ],
)
def test_endless_line(solid, y, tau, kelvin):
    assert solid.line(3e-3, y, tau, sigma=SIGMA) == pytest.approx(kelvin, rel=EXACT)


def test_standing_spot():
    assert spot(SURFACE, 0.9, 0, 0, seconds=8e-4) == pytest.approx(18222.1198985, rel=EXACT)
    steady = 0.9 / (1.5e-4 * SIGMA * math.sqrt(8 * math.pi))
    assert steady == pytest.approx(59841.3420602, rel=1e-10)


@pytest.mark.parametrize(
    ("solid", "speed", "x", "kelvin"),
    [
        (SURFACE, 300, 0.0, 6129.48106826),
        (SURFACE, 1200, 0.0, 3070.97701628),
        (SURFACE, 300, -0.748634 * SIGMA, 7235.90628464),
        (SURFACE, 1200, -0.760782 * SIGMA, 3640.87795397),
        (BLACK, 300, -4 * SIGMA, 468.412964071),
        (BLACK, 1200, -4 * SIGMA, 126.521033896),
    ],
)
def test_moving_spot(solid, speed, x, kelvin):
    assert spot(solid, 0.9, speed, x) == pytest.approx(kelvin, rel=EXACT)


@pytest.mark.parametrize(("speed", "kelvin"), [(300, 468.412964071), (1200, 126.521033896)])
def test_local_time_behind_a_moving_spot(speed, kelvin):
    tau = 4 * SIGMA / speed
    assert BLACK.line(0.9 / speed, 0.0, tau, sigma=SIGMA) == pytest.approx(kelvin, rel=LOCAL)


def on_one_row(x, seconds):
    """A row from 0 to 3 mm at 1200 mm/s, exactly: an integral over the beam's way."""

    def strike(when):
        return BLACK.point(0.9, x - 1200 * when, seconds - when, sigma=SIGMA)

    knots = np.linspace(0, 3 / 1200, 13)
    return sum(quad(strike, a, b, epsrel=1e-11)[0] for a, b in pairwise(knots))


@pytest.mark.parametrize(
    ("x", "kelvin", "local"),
    [(3.0, 31.3129398394, 31.3370491956), (1.5, 55.2677144362, 55.2677746502)],
)
def test_one_row_at_its_end_and_in_its_middle(x, kelvin, local):
    assert on_one_row(x, 6.5e-3) == pytest.approx(kelvin, rel=EXACT)
    tau = 6.5e-3 - x / 1200
    found = BLACK.run(0.9 / 1200, (0.0, 3.0), (x, 0.0), tau, sigma=SIGMA)
    assert found == pytest.approx(local, rel=1e-10)
    assert found == pytest.approx(kelvin, rel=LOCAL)


@pytest.mark.parametrize(
    ("back", "two_way", "exact", "local"),
    [(0.0, True, 301.698497998, 301.703049736), (3 / 2500, False, 298.477722874, 298.481775966)],
)
def test_a_raster_of_24_rows(back, two_way, exact, local):
    starts = np.arange(24) * (3 / 300 + 1.2e-3 + back)
    forward = ~(two_way & (np.arange(24) % 2 == 1))
    visits = starts + np.where(forward, 0.75, 2.25) / 300
    tau = visits[23] + 3e-3 - visits
    y = 2.3 - 0.1 * np.arange(24)
    found = BLACK.run(3e-3, (0.0, 3.0), (0.75, y), tau, sigma=SIGMA).sum()
    assert found == pytest.approx(local, rel=1e-10)
    assert found == pytest.approx(exact, rel=LOCAL)


@pytest.mark.parametrize(("xi", "kelvin"), [(-0.2, 60.3242121123), (0.1, 43.487831299)])
def test_moving_line_source_is_rosenthals(xi, kelvin):
    found = moving_line(SURFACE, 0.02, 0.4, xi)
    assert found == pytest.approx(kelvin, rel=EXACT)
    pe = 0.4 / (2 * ALPHA)
    rosenthal = 0.02 / (math.pi * 1.5e-4) * math.exp(-pe * xi) * k0(pe * abs(xi))
    assert found == pytest.approx(rosenthal, rel=EXACT)


@pytest.mark.parametrize(("solid", "kelvin"), [(BLACK, 12.1155417364), (SURFACE, 28.0927720289)])
def test_smoothed_moving_line(solid, kelvin):
    assert moving_line(solid, 0.02, 8.0, -0.06, smooth=0.06**2) == pytest.approx(kelvin, rel=EXACT)


def test_areas_struck_at_once():
    assert BLACK.rectangle(0.04, (1.5, 0.75), 4.0) == pytest.approx(12.9154339036, rel=EXACT)
    assert SURFACE.disc(0.04, 1.2, 4.0) == pytest.approx(14.3908416495, rel=EXACT)


def test_a_rectangle_is_the_sum_of_its_pulses():
    xs, ys = (np.arange(300) + 0.5) / 100 - 1.5, (np.arange(150) + 0.5) / 100 - 0.75
    distance = np.hypot(xs[:, None], ys[None, :])
    summed = BLACK.point(0.04e-4, distance, 4.0, sigma=0.0).sum()
    assert summed == pytest.approx(12.9154339036, rel=1e-5)


@pytest.mark.parametrize("tau", [0.003, 0.12, 5.0])
def test_energy_is_kept_in_depth(tau):
    # temperature below the surface: the kernel folded with both images of the absorbed profile
    def below(z):
        def shallow(s):
            images = math.exp(-((z - s) ** 2) / (4 * ALPHA * tau)) + math.exp(
                -((z + s) ** 2) / (4 * ALPHA * tau)
            )
            return math.exp(-s / 0.05) / 0.05 * images / math.sqrt(4 * math.pi * ALPHA * tau)

        return quad(shallow, 0, 1.0, points=[z] if z < 1 else None, epsrel=1e-9)[0]

    assert below(0.0) == pytest.approx(float(BLACK.depth_factor(tau)), rel=1e-7)
    reach = 1 + 8 * math.sqrt(2 * ALPHA * tau)
    total = sum(quad(below, a, b, epsrel=1e-8)[0] for a, b in [(0, 0.1), (0.1, 1), (1, reach)])
    assert total == pytest.approx(1.0, abs=1e-6)


def test_light_deep_in_the_plastic_becomes_a_surface_absorber_late_and_stays_finite_early():
    assert BLACK.depth_factor(1e4) == pytest.approx(SURFACE.depth_factor(1e4), rel=1e-5)
    assert BLACK.depth_factor(0.0) == 1 / 0.05


@pytest.mark.parametrize("fourier", [1e-4, 0.005, 0.0079, 0.0081, 0.1, 0.5, 3.0])
@pytest.mark.parametrize("depth", [0.0, 0.05, 0.4])
def test_a_slab_is_the_sum_over_its_mirror_images(fourier, depth):
    height = 0.8
    tau = fourier * height**2 / ALPHA
    four = 4 * ALPHA * tau

    def images(s):
        n = np.arange(-40, 41)
        return np.exp(-((s + 2 * n * height) ** 2) / four).sum() / math.sqrt(math.pi * ALPHA * tau)

    if depth == 0:
        wanted = images(0.0)
    else:
        near = min(height, 6 * math.sqrt(four))
        pieces = [(0, near), (near, height)]
        wanted = sum(
            quad(lambda s: math.exp(-s / depth) / depth * images(s), a, b, epsrel=1e-11)[0]
            for a, b in pieces
        )
    found = float(Solid(depth=depth, thickness=height).depth_factor(tau))
    assert found == pytest.approx(wanted, rel=1e-8)


def test_a_slab_ends_with_all_its_heat_evenly_spread():
    thin = Solid(depth=0.05, thickness=0.6)
    assert thin.depth_factor(1e4) == pytest.approx((1 - math.exp(-12)) / 0.6)


def test_areal_pulses_add_up_as_roots():
    # F/(e √(pi t)) Σ n^−1/2, seen one period after the last of 40 pulses
    effusivity = math.sqrt(1.5e-4 * 2.232e-3)
    wanted = 0.01 / (effusivity * math.sqrt(math.pi * 0.5)) * (np.arange(1, 41) ** -0.5).sum()
    found = SURFACE.rectangle(0.01, (1e6, 1e6), 0.5 * np.arange(1, 41)).sum()
    assert found == pytest.approx(wanted, rel=1e-9)


def test_the_depth_factor_is_the_convolution_it_stands_for():
    tau = 0.07
    root = math.sqrt(ALPHA * tau)
    assert BLACK.depth_factor(tau) == pytest.approx(
        math.exp((root / 0.05) ** 2) * erfc(root / 0.05) / 0.05, rel=1e-12
    )
