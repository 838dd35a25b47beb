"""Series: many designs, what changed, who does the work, the log."""
