"""Test pieces: artwork to mark and to grade, and what the grades tell of the filament."""
