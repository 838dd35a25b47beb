"""solve-power: powers of levels by simulation, within limits."""

from preprocess.passes.solve_power.solve_power import SolvePower

__all__ = ["SolvePower"]
