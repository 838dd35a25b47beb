"""A job with other extra settings than its profile is warned of, once for each that differs."""

from __future__ import annotations

from preprocess.marking.checks.extra_settings import other_extra_settings
from preprocess.model.artwork.settings import Settings
from preprocess.model.bench.filament import Filament

MOSS = Filament(name="moss PETG", extra_settings={"frequency": "30 kHz", "lens": "110 mm"})


def told(filament=MOSS, **layers):
    return [
        (f.code, f.severity, f.message)
        for f in other_extra_settings(
            filament, {name: Settings(extra=extra) for name, extra in layers.items()}
        )
    ]


SAME = (("frequency", "30 kHz"), ("lens", "110 mm"))
OTHER = (("frequency", "60 kHz"), ("lens", "110 mm"))


def test_the_same_settings_say_nothing() -> None:
    assert told(frond=SAME, veins=SAME) == []


def test_one_warning_names_all_layers() -> None:
    assert told(frond=OTHER, veins=OTHER, dots=SAME) == [
        (
            "other-extra-settings",
            "warn",
            "frequency is 60 kHz for frond, veins, but moss PETG was graded with 30 kHz",
        )
    ]


def test_one_that_is_missing_or_new_differs() -> None:
    found = [message for _, _, message in told(frond=(*SAME[:1], ("defocus", "2 mm")))]
    assert found == [
        "defocus is 2 mm for frond, but moss PETG was graded with none told",
        "lens is not told for frond, but moss PETG was graded with 110 mm",
    ]


def test_a_profile_that_tells_of_none_says_nothing() -> None:
    assert told(Filament(name="old"), frond=OTHER) == []
