"""Explanations: what each finding means, why it matters, how to check it, what to write instead."""
