"""Paper of a coupon: sheet, grade table, file names, texts."""
