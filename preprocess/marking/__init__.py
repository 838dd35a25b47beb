"""Marking: what the laser does, as a stack (machine, job, solver, heat, checks); it looks only."""
