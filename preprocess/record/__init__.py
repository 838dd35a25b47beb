"""The record: what was written to be marked, and how it came out, as text files in a folder."""
