"""Text layout: chunks, positions, baselines, text on a path."""
