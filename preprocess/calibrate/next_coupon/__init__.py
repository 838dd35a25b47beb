"""The next coupon: which one is expected to leave least unknown."""
