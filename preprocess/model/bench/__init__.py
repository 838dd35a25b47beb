"""What is owned: machine, filament, part."""
