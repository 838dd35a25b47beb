"""Coupons: test pieces made from a definition, with artwork, grade table and sheet."""
