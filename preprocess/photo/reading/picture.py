"""A picture from a file: upright, in sRGB, no larger than needed, or one sentence."""

from __future__ import annotations

import io
import struct
import warnings
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.errors import Place, wrong
from preprocess.photo.libraries import library
from preprocess.write.digest import sha256_hex

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

MOST_PHOTO_BYTES = 150_000_000
MOST_PIXELS = 250_000_000
"""Pixels of a file that is read at all: phones write up to 200 million."""

_WORKING = 24_000_000
"""Pixels of a picture as it is measured; a larger one is made smaller."""

_UNPACKED = 80_000_000
"""Pixels that are held in memory for a moment; only JPEG can be read smaller at once."""

_LEAST = 200
"""Least side of a picture, pixels."""

_EXIF, _FOCAL_IN_35 = 0x8769, 0xA405
_DIAGONAL_OF_35 = 43.27
_USUAL_FOCAL = 27.0
"""Focal length of a phone's main camera on film of 36 × 24 mm, mm."""

_LEAST_FOCAL, _MOST_FOCAL = 8, 300

_DAMAGES = (
    OSError,
    ValueError,
    SyntaxError,
    EOFError,
    MemoryError,
    ArithmeticError,
    LookupError,
    TypeError,
    struct.error,
)
"""What Pillow raises on damaged files."""

_MODES = {"RGB", "RGBA", "L", "LA", "P", "CMYK", "YCbCr"}
_HEIC = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"mif1", b"msf1", b"avif"}
_AS_JPEG = "save it as JPEG"


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoPicture:
    """An upright picture: rows × columns × 3 bytes of sRGB, red first.

    `focal` is the focal length in pixels, a usual one where the file does not tell it; `told` says
    which. `digest` is the SHA-256 of the file.
    """

    rgb: Any
    name: str
    digest: str
    focal: float
    told: bool


def read_picture(path: Path) -> PhotoPicture:
    """Read the photo in a file.

    Raises:
        UserError: it is missing, no picture, damaged, too large or too small.
    """
    at = Place(str(path))
    data = _bytes_of(path)
    if data[4:8] == b"ftyp" and data[8:12] in _HEIC:
        library("pi_heif").register_heif_opener()
    with _any_size(), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            image = library("PIL.Image").open(io.BytesIO(data))
        except _DAMAGES:
            raise wrong(
                "this is no picture", "name a photo (JPEG, PNG or HEIC)", place=at
            ) from None
        _expect_readable(image, at)
        try:
            focal = image.getexif().get_ifd(_EXIF).get(_FOCAL_IN_35)
            rgb = _upright(image)
        except _DAMAGES:
            remedy = "copy it from the phone again"
            raise wrong("this picture is damaged or cut off", remedy, place=at) from None
    told = isinstance(focal, (int, float)) and _LEAST_FOCAL <= focal <= _MOST_FOCAL
    in_35 = float(focal) if told else _USUAL_FOCAL
    return PhotoPicture(
        rgb=rgb,
        name=path.name,
        digest=sha256_hex(data),
        focal=in_35 / _DIAGONAL_OF_35 * float(np.hypot(*rgb.shape[:2])),
        told=told,
    )


def _bytes_of(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            data = file.read(MOST_PHOTO_BYTES + 1)
    except FileNotFoundError:
        raise wrong("there is no such file", "name a photo", place=Place(str(path))) from None
    except IsADirectoryError:
        raise wrong("that is a folder", "name a photo in it", place=Place(str(path))) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise wrong(f"cannot be read ({why})", place=Place(str(path))) from None
    if len(data) > MOST_PHOTO_BYTES:
        found = f"this file is over {MOST_PHOTO_BYTES // 1_000_000} MB"
        raise wrong(found, _AS_JPEG, place=Place(str(path)))
    return data


def _expect_readable(image: Any, at: Place) -> None:
    wide, high = image.size
    if image.mode not in _MODES:
        raise wrong(f"pictures of the kind {image.mode} are not read", _AS_JPEG, place=at)
    if min(wide, high) < _LEAST:
        found = f"this picture has {wide} × {high} pixels; {_LEAST} × {_LEAST} are the least"
        raise wrong(found, "take the photo itself, not its thumbnail", place=at)
    packed = image.format != "JPEG"
    if wide * high > (_UNPACKED if packed else MOST_PIXELS):
        found = f"this picture has {wide * high / 1e6:.0f} million pixels"
        remedy = _AS_JPEG if packed else "choose a smaller size in the camera"
        raise wrong(found, remedy, place=at)


def _upright(image: Any) -> Any:
    """The pixels, upright and in sRGB, with no more of them than are worked on."""
    wide, high = image.size
    shrink = int(np.ceil((wide * high / _WORKING) ** 0.5))
    if shrink > 1:
        image.draft("RGB", (wide // shrink, high // shrink))
    turned = library("PIL.ImageOps").exif_transpose
    image.load()
    if image.mode in {"RGBA", "LA", "P"}:
        image = _on_white(image)
    image = turned(_in_srgb(image))
    left = int(np.ceil((image.width * image.height / _WORKING) ** 0.5))
    return np.asarray(image.reduce(left) if left > 1 else image)


def _on_white(image: Any) -> Any:
    exif = image.getexif()
    clear = image.convert("RGBA")
    white = library("PIL.Image").new("RGBA", clear.size, "white")
    white.alpha_composite(clear)
    found = white.convert("RGB")
    found.info["exif"] = exif.tobytes()
    return found


def _in_srgb(image: Any) -> Any:
    """Colours by the profile in the file; without one, or with a damaged one, as sRGB."""
    profile = image.info.get("icc_profile")
    if profile and image.mode in {"RGB", "CMYK"}:
        cms = library("PIL.ImageCms")
        try:
            held = cms.ImageCmsProfile(io.BytesIO(profile))
            srgb = cms.createProfile("sRGB")
            return cms.profileToProfile(image, held, srgb, outputMode="RGB")
        except (cms.PyCMSError, OSError, ValueError):
            pass
    return image if image.mode == "RGB" else image.convert("RGB")


@contextmanager
def _any_size() -> Iterator[None]:
    """Without Pillow's own limit: ours holds, before anything is unpacked."""
    pil = library("PIL.Image")
    usual, pil.MAX_IMAGE_PIXELS = pil.MAX_IMAGE_PIXELS, None
    try:
        yield
    finally:
        pil.MAX_IMAGE_PIXELS = usual
