"""Watching: a page on this machine that shows a job anew whenever one of its files is saved."""
