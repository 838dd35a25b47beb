"""Libraries of the extra `photo`, imported when a command needs them, or the sentence for none."""

from __future__ import annotations

import importlib
from typing import Any

from preprocess.errors import wrong


def library(name: str) -> Any:
    """A module of an extra.

    Raises:
        UserError: the extra is not installed.
    """
    try:
        module = importlib.import_module(name)
    except ImportError:
        extra = "heic" if name == "pi_heif" else "photo"
        what = "HEIC photos are" if extra == "heic" else "photos are"
        raise wrong(
            f"{what} read by libraries that are not installed",
            f"install them: pip install 'evenmark[{extra}]'",
        ) from None
    return module


def opencv() -> Any:
    """OpenCV, on one thread: the same bits on every machine, and no fight for its cores.

    Raises:
        UserError: it is not installed.
    """
    cv2 = library("cv2")
    cv2.setNumThreads(1)
    return cv2
