"""The data block: rows, runs, outlines and index of a job as columns that the page opens."""
