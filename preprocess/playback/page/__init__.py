"""The page: one file that plays the beam back, with all it needs inside."""
