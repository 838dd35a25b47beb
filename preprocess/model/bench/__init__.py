"""The maker's bench: machine, filament, part."""
