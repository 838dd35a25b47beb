"""Tones: what photos of coupons tell of a filament, beside the words of its judge."""
