"""SHA-256, by which files that belong together know one another."""

from __future__ import annotations

import hashlib


def sha256_hex(data: bytes) -> str:
    """SHA-256 in hexadecimal."""
    return hashlib.sha256(data).hexdigest()
