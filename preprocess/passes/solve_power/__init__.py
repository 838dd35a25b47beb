"""solve-power: powers of levels by simulation, within limits."""

from preprocess.passes.solve_power.pass_ import SolvePower

__all__ = ["SolvePower"]
