"""Advice: ways to even out a design, tried by simulation and ranked; nothing below imports it."""
