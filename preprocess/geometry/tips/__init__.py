"""Tips: where narrow areas end, and how far those ends move inward."""
