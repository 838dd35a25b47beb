"""Pure functions on geometry that passes share; all lengths in mm."""
