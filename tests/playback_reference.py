"""Warmth of one small job by integrals alone, to hold the page's mathematics and Python's to.

``python -m tests.playback_reference`` prints the table anew. It needs mpmath, which nothing else
here does, and takes a minute.

The job is a rectangle of 4 × 0.5 mm in five rows at y = 1.0, 1.1 … 1.4 mm, from x = 2 to 6 mm,
two-way at 500 mm/s with 1.2 ms to turn, 1.8 W absorbed. Row n begins at n · 9.2 ms. In local time a
row warms the surface at a point by the integral over its depth and length of point sources [1]:

    q/ρc · ∫ exp(−z/δ)/δ · Σ exp(−z²/4ατ)/√(πατ) dz · ∫ N(x − a; V) da · N(y; V + s²/12)

with V = σ² + 2ατ, τ the time since the beam was at x or at the row's nearest end, and the sum over
the mirror images of z in a part of finite thickness. What is absorbed below that is lost. The row
under the beam counts as its hottest while a beam passes at a speed v that began long ago,

    max over t of q/ρc · ∫ g(τ) · v N(v(t − τ); V) · N(0; V + s²/12) dτ

1. H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, Oxford, 1959, sections 10.2 and 14.2.
"""

from __future__ import annotations

ALPHA, CAPACITY, DEPTH, SIGMA, SPREAD = 0.15e-3 / (1.24 * 1.8e-3), 1.24 * 1.8e-3, 0.05, 0.02, 0.3
SPEED, POWER, TURN, LEFT, RIGHT = 500.0, 1.8, 1.2e-3, 2.0, 6.0
ROWS = 1.0, 1.1, 1.2, 1.3, 1.4

PLACES = {"middle": (4.0, 1.2), "tip": (2.05, 1.3), "beside": (6.2, 1.45), "below": (4.0, 1.7)}
TIMES = 0.02, 0.045, 0.5, 8.0
"""s; 20 ms is in the third row, 44.8 ms the end of the last."""

HOTTEST = 3 * (4 / SPEED + TURN) - TURN - 2 / SPEED
"""When the third row passes the middle, s: 22.4 ms."""

KELVIN: dict[float | None, dict[str, tuple[float, ...]]] = {
    None: {
        "middle": (60.4411505, 159.833269, 31.9161128, 2.23179689),
        "tip": (70.9307628, 155.75174, 17.6356545, 1.2185606),
        "beside": (1.9795487e-7, 0.00300592851, 5.00854267, 0.970579108),
        "below": (1.23110502e-7, 0.508189819, 8.51492562, 1.99256122),
    },
    1.4: {
        "middle": (60.4411505, 159.833269, 31.9161128, 2.34911411),
        "tip": (70.9307628, 155.75174, 17.6356545, 1.28263318),
        "beside": (1.9795487e-7, 0.00300592851, 5.00854267, 1.02157093),
        "below": (1.23110502e-7, 0.508189819, 8.51492562, 2.09726263),
    },
}
"""By thickness of the part in mm: the rise at each place at each time, K."""

PEAK = 193.647298
"""The rise in the middle as the third row passes, in a part of either thickness, K."""


def normal(x, variance):
    """The bell curve of a variance."""
    import mpmath as mp

    return mp.exp(-(x**2) / (2 * variance)) / mp.sqrt(2 * mp.pi * variance)


def depth_factor(age, thickness):
    """What is felt at the surface of light absorbed in the depth, per mm."""
    import mpmath as mp

    reach = mp.sqrt(4 * ALPHA * age)
    if thickness is None:
        ends, images = [0, reach, 4 * reach, 12 * reach + 1e-3], [0]
    else:
        ends, images = [0, thickness / 8, thickness / 2, thickness], range(-4, 5)

    def source(z):
        mirrored = (z + 2 * n * (thickness or 0) for n in images)
        felt = sum(mp.exp(-(way**2) / (4 * ALPHA * age)) for way in mirrored)
        return mp.exp(-z / DEPTH) / DEPTH * felt / mp.sqrt(mp.pi * ALPHA * age)

    return mp.quad(source, [mp.mpf(end) for end in ends])


def row_rise(number, place, time, thickness):
    """What one row adds at a place and time in local time, K."""
    import mpmath as mp

    near = min(max(place[0], LEFT), RIGHT)
    way = near - LEFT if number % 2 == 0 else RIGHT - near
    age = time - number * ((RIGHT - LEFT) / SPEED + TURN) - way / SPEED
    if age < 1e-12:
        return mp.mpf(0)
    wide = SIGMA**2 + 2 * ALPHA * age
    ends = sorted({LEFT, RIGHT, near, *(near + k * mp.sqrt(wide) for k in (-8, -2, 2, 8))})
    ends = [end for end in ends if LEFT <= end <= RIGHT]
    lit = mp.quad(lambda a: normal(place[0] - a, wide), ends)
    across = normal(place[1] - ROWS[number], wide + SPREAD**2 / 12)
    return POWER / SPEED / CAPACITY * depth_factor(age, thickness) * lit * across


def passing_rise(lag):
    """What the row under the beam adds some time after the beam has passed, K.

    So soon no underside is felt, and the integral over the depth has a closed form.
    """
    import mpmath as mp

    def felt(root):
        age = root**2
        wide = SIGMA**2 + 2 * ALPHA * age
        sunk = mp.sqrt(ALPHA * age) / DEPTH
        at_surface = mp.exp(sunk**2) * mp.erfc(sunk) / DEPTH
        moved = SPEED * normal(SPEED * (lag - age), wide)
        return 2 * root * at_surface * moved * normal(0, wide + SPREAD**2 / 12)

    ends = [mp.sqrt(max(0, lag + k * SIGMA / SPEED)) for k in (-9, -5, -2, 0, 2, 5, 9)]
    return POWER / SPEED / CAPACITY * mp.quad(felt, sorted({mp.mpf("1e-9"), *ends}))


def main() -> None:
    """Print both tables."""
    import mpmath as mp

    mp.mp.dps = 15
    for thickness in KELVIN:
        print(thickness)
        for name, place in PLACES.items():
            rises = (sum(row_rise(n, place, t, thickness) for n in range(5)) for t in TIMES)
            print(f'    "{name}": ({", ".join(mp.nstr(rise, 9) for rise in rises)}),')
        own = max(passing_rise(k * SIGMA / SPEED / 20) for k in range(30, 80))
        others = sum(row_rise(n, PLACES["middle"], HOTTEST, thickness) for n in range(2))
        print("    peak", mp.nstr(own + others, 9), "of its own row", mp.nstr(own, 9))


if __name__ == "__main__":
    main()
