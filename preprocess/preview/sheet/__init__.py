"""The job sheet: one HTML page for the bench."""
