"""Playback: the beam going over a job, in a page that plays it back."""
