"""What the laser will do with the artwork: plan, rows, schedule, heat. Looks, never changes."""
