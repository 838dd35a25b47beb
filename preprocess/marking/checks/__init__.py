"""Checks: findings about a job before it costs a part."""
