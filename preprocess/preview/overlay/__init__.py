"""The overlay: what stays, what was added, removed or changed."""
