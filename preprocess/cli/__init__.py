"""The command line: one file to a command; show.py alone prints."""
