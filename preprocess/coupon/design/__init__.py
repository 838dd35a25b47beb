"""Designing coupons: kinds, default values, and checks before anything is drawn."""
