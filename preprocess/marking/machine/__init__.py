"""The machine: motion, field, datum, surface and beam lean."""
