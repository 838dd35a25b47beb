"""Calibration: what graded coupons tell of a filament, from grades to a profile."""
