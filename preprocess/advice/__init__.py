"""Ways to mark one design evenly on one filament: tried, simulated, compared."""
