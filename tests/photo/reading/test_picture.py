"""Pictures from files: upright, in sRGB, within limits; one sentence for what does not serve."""

from __future__ import annotations

import io
import struct
import sys
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from preprocess.errors import UserError
from preprocess.photo.reading.picture import read_picture

FIXTURES = Path(__file__).parents[3] / "fixtures"
RED, BLUE = (220, 20, 20), (20, 20, 220)


def two_halves(wide=400, high=300):
    """Red on the left, blue on the right."""
    image = Image.new("RGB", (wide, high), RED)
    image.paste(BLUE, (wide // 2, 0, wide, high))
    return image


def saved(path, image, kind="PNG", **more):
    image.save(path, kind, **more)
    return path


@pytest.mark.parametrize(
    ("orientation", "shape", "red_at"),
    [(1, (300, 400), (150, 50)), (3, (300, 400), (150, 350)), (6, (400, 300), (50, 150))],
)
def test_a_picture_is_turned_as_the_camera_was_held(tmp_path, orientation, shape, red_at) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = saved(tmp_path / "a.jpg", two_halves(), "JPEG", exif=exif, quality=95)
    rgb = read_picture(path).rgb
    assert rgb.shape[:2] == shape
    np.testing.assert_allclose(rgb[red_at], RED, atol=6)


@pytest.mark.parametrize("mode", ["RGB", "L", "P", "RGBA", "LA", "CMYK"])
def test_all_usual_kinds_become_three_channels(tmp_path, mode) -> None:
    image = Image.new("RGB", (300, 300), (120, 120, 120)).convert(mode, palette=1)
    kind = "JPEG" if mode == "CMYK" else "PNG"
    rgb = read_picture(saved(tmp_path / f"a.{kind.lower()}", image, kind)).rgb
    assert rgb.shape == (300, 300, 3)
    np.testing.assert_allclose(rgb[150, 150], (120, 120, 120), atol=4)


def test_what_is_clear_is_seen_on_white(tmp_path) -> None:
    image = Image.new("RGBA", (300, 300), (0, 0, 0, 0))
    assert (read_picture(saved(tmp_path / "a.png", image)).rgb == 255).all()


def test_colours_are_turned_into_srgb_by_the_profile_of_the_file(tmp_path) -> None:
    """In a profile without a curve, 128 is 50 % of the light; in sRGB, 22 %."""
    plain = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    image = Image.new("RGB", (300, 300), (128, 128, 128))
    rgb = read_picture(saved(tmp_path / "a.png", image, icc_profile=plain)).rgb
    np.testing.assert_allclose(rgb[9, 9], 128, atol=1)
    linear = _without_curve(plain)
    rgb = read_picture(saved(tmp_path / "b.png", image, icc_profile=linear)).rgb
    np.testing.assert_allclose(rgb[9, 9], 188, atol=2)


def _without_curve(profile):
    """A profile whose curves are straight: each `curv` or `para` tag becomes one of no entries."""
    data = bytearray(profile)
    count = struct.unpack_from(">I", data, 128)[0]
    for number in range(count):
        name, at, _ = struct.unpack_from(">4sII", data, 132 + 12 * number)
        if name in {b"rTRC", b"gTRC", b"bTRC"}:
            data[at : at + 12] = b"curv" + bytes(8)
    return bytes(data)


def test_a_damaged_profile_is_passed_over(tmp_path) -> None:
    image = Image.new("RGB", (300, 300), (128, 128, 128))
    rgb = read_picture(saved(tmp_path / "a.png", image, icc_profile=b"moss" * 40)).rgb
    assert (rgb == 128).all()


def test_the_focal_length_is_told_by_the_camera_or_taken_as_usual(tmp_path) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA405] = 52
    told = read_picture(saved(tmp_path / "a.jpg", two_halves(), "JPEG", exif=exif))
    untold = read_picture(saved(tmp_path / "b.jpg", two_halves(), "JPEG"))
    assert told.told
    assert not untold.told
    assert told.focal == pytest.approx(52 / 43.27 * 500, rel=1e-3)
    assert untold.focal == pytest.approx(27 / 43.27 * 500, rel=1e-3)


def test_a_huge_jpeg_is_read_smaller(tmp_path) -> None:
    path = saved(tmp_path / "a.jpg", Image.new("L", (9000, 8000), 120), "JPEG")
    rgb = read_picture(path).rgb
    assert rgb.shape[0] * rgb.shape[1] <= 24_000_000
    assert rgb.shape[1] / rgb.shape[0] == pytest.approx(9 / 8, rel=0.01)


def bomb(wide, high):
    """A PNG that claims a size, with hardly any data."""

    def chunk(kind, data):
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    pixels = chunk(b"IDAT", zlib.compress(b"\0" * 1000))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + pixels + chunk(b"IEND", b"")


def jpeg():
    out = io.BytesIO()
    noise = np.random.default_rng(1).integers(0, 255, (300, 400, 3), np.uint8)
    Image.fromarray(noise).save(out, "JPEG")
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "this is no picture"),
        (b"recipe: 1\n", "this is no picture"),
        (jpeg()[:5000], "damaged or cut off"),
        (bomb(60_000, 60_000), "3600 million pixels; save it as JPEG"),
        (bomb(10_000, 10_000), "100 million pixels; save it as JPEG"),
        (bomb(600, 600), "damaged or cut off"),
    ],
)
def test_what_is_no_picture_is_refused_in_one_sentence(tmp_path, data, told) -> None:
    path = tmp_path / "fern.jpg"
    path.write_bytes(data)
    with pytest.raises(UserError, match=told) as error:
        read_picture(path)
    (complaint,) = error.value.complaints
    assert complaint.place.file == str(path)
    assert complaint.remedy


@pytest.mark.parametrize("size", [(1, 1), (199, 900), (0x7FFF, 2)])
def test_a_picture_of_a_few_pixels_is_refused(tmp_path, size) -> None:
    path = saved(tmp_path / "a.png", Image.new("L", size))
    with pytest.raises(UserError, match=f"has {size[0]} × {size[1]} pixels"):
        read_picture(path)


def test_files_that_are_not_there_are_told(tmp_path) -> None:
    with pytest.raises(UserError, match="no such file"):
        read_picture(tmp_path / "none.jpg")
    with pytest.raises(UserError, match="that is a folder"):
        read_picture(tmp_path)


def test_without_the_extra_the_sentence_says_what_to_install(tmp_path, monkeypatch) -> None:
    path = saved(tmp_path / "a.png", two_halves())
    heic = tmp_path / "b.heic"
    heic.write_bytes(b"\0\0\0\x18ftypheic" + bytes(40))
    monkeypatch.setitem(sys.modules, "PIL.Image", None)
    with pytest.raises(UserError, match=r"install them: pip install 'evenmark\[photo\]'"):
        read_picture(path)
    monkeypatch.setitem(sys.modules, "pi_heif", None)
    with pytest.raises(UserError, match=r"HEIC photos .* pip install 'evenmark\[heic\]'"):
        read_picture(heic)


def test_a_heic_shows_what_the_jpeg_shows_that_it_was_made_from() -> None:
    """A label of the walk, as `heif-enc -q 45` of libheif 1.15 wrote it."""
    jpeg = read_picture(FIXTURES / "walkthrough" / "as-drawn.jpg")
    heic = read_picture(Path(__file__).parent / "as-drawn.heic")
    assert heic.rgb.shape == jpeg.rgb.shape == (825, 1100, 3)
    off = np.abs(heic.rgb.astype(float) - jpeg.rgb)
    assert off.mean() < 1.5
    assert (heic.focal, heic.told) == (jpeg.focal, True)


def test_a_damaged_heic_is_refused(tmp_path) -> None:
    heic = tmp_path / "b.heic"
    heic.write_bytes(b"\0\0\0\x18ftypheic" + bytes(4000))
    with pytest.raises(UserError, match=r"no picture|damaged"):
        read_picture(heic)
