"""The job: plan, rows, and the time of every step."""
