"""Drawing coupons: patterns, labels and their layout on the plate."""
