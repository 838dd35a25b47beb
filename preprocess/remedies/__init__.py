"""Remedies: ways to even out a job, simulated on it before a finding or advice tells them."""
