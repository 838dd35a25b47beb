"""Doubts about a photo that serves: each names the photo and the figure."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from preprocess.photo.doubts import doubts


def reading(**figures):
    photo = SimpleNamespace(name="fern.jpg", **{"px_per_mm": 12.0, "edge": 0.2} | figures)
    rest = {"misfit": 0.02, "paper_clipped": 0.0} | figures
    return SimpleNamespace(photo=photo, misfit=rest["misfit"], paper_clipped=rest["paper_clipped"])


@pytest.mark.parametrize(
    ("figures", "code"),
    [
        ({"px_per_mm": 7.5}, "photo-small"),
        ({"edge": 0.45}, "photo-blurred"),
        ({"misfit": 0.2}, "greys-off"),
        ({"paper_clipped": 0.4}, "paper-too-bright"),
    ],
)
def test_what_is_doubtful_is_told(figures, code) -> None:
    assert doubts(SimpleNamespace(told=True), reading()) == ()
    (found,) = doubts(SimpleNamespace(told=True), reading(**figures))
    assert found.code == code
    assert "fern.jpg" in found.message


def test_a_photo_without_a_focal_length_is_noted() -> None:
    (found,) = doubts(SimpleNamespace(told=False), reading())
    assert found.code == "focal-length-not-told"
