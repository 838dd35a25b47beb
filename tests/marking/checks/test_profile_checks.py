"""What a filament's profile says of a job: does it mark, same machine, like the graded patch."""

import dataclasses

import pytest
from shapely import MultiLineString, box

from preprocess.marking.heat.effort import Effort
from preprocess.marking.prediction import predict
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, MarkTone, Reference, Tried, Window
from preprocess.model.bench.machine import Machine
from preprocess.model.bench.part import Part
from tests.marking.drawn import ENGRAVED, artwork, shape, square

GALVO = Machine(name="bench galvo", turnaround=1.2e-3, fly_back=2500.0, spot=0.08)
GREEN = Filament(
    name="green",
    machine="bench galvo",
    reference=Reference(power=0.5, speed=900.0, pitch=0.1),
    window=Window(),
    marks_from=0.2,
)
LIKE_IT = dataclasses.replace(ENGRAVED, power=0.5, speed=900.0)


PATCH = (shape(square(0, 0, 8)),)


def found(settings=LIKE_IT, filament=GREEN, machine=GALVO, drawn=PATCH):
    art = artwork(*drawn, settings=settings)
    predicted = predict(
        art, Bench(machine=machine, filament=filament), effort=Effort.PREVIEW, surely=False
    )
    return {finding.code: finding for finding in predicted.findings}


def with_(**changes):
    return dataclasses.replace(LIKE_IT, **changes)


def test_a_job_like_the_reference_patch_is_vouched_for():
    codes = {"does-it-mark", "another-machine", "far-from-reference", "uncalibrated"}
    assert not codes & set(found())


@pytest.mark.parametrize("drawn", [square(0, 0, 8), box(0, 0, 1, 6), box(0, 0, 40, 3)])
@pytest.mark.parametrize(("power", "seen"), [(0.22, True), (0.18, False)])
def test_at_the_reference_speed_the_limit_is_the_power_itself(drawn, power, seen):
    # 20 % is the limit; rows of any width have nearly the same spike
    told = found(with_(power=power), drawn=(shape(drawn),))
    assert ("does-it-mark" in told) is not seen


@pytest.mark.parametrize(("power", "seen"), [(0.44, True), (0.36, False)])
def test_at_twice_the_speed_about_twice_the_power_is_needed(power, seen):
    # closed form for light absorbed in depth: the spike goes with power over speed
    assert ("does-it-mark" in found(with_(power=power, speed=1800.0))) is not seen


def test_the_warning_states_the_rule_and_the_power_that_it_takes():
    told = found(with_(power=0.1))["does-it-mark"]
    assert told.severity == "warn"
    # spikes as shares of the reference patch's: 10 / 50 here, 20 / 50 needed
    assert "0.20 times as hot as the reference patch" in told.message
    assert "nothing below 0.40 (20 % at 900 mm/s)" in told.message
    assert told.remedy.startswith("raise its power above 20 %")


def test_more_than_full_power_is_no_remedy():
    told = found(with_(power=0.5, speed=9000.0))["does-it-mark"]
    assert told.remedy == "mark it slower and test it"


def test_without_a_reference_it_is_only_a_note_and_says_so():
    told = found(with_(power=0.1), dataclasses.replace(GREEN, reference=None))
    assert told["does-it-mark"].severity == "note"
    assert "uncalibrated: ranking only" in told["does-it-mark"].message


def test_a_profile_without_a_limit_says_nothing_of_it():
    assert "does-it-mark" not in found(
        with_(power=0.01), dataclasses.replace(GREEN, marks_from=None)
    )


def test_lines_are_not_judged():
    line = shape(MultiLineString([[(0, 0), (9, 0)]]), name="stem")
    assert "does-it-mark" not in found(drawn=(line,))


def test_each_layer_is_judged_by_itself():
    drawn = (shape(square(0, 0, 6), "moth"), shape(square(9, 0, 6), "seeds"))
    settings = {"moth": LIKE_IT, "seeds": with_(power=0.1)}
    assert found(settings, drawn=drawn)["does-it-mark"].message.startswith("seeds may not")


@pytest.mark.parametrize(
    ("graded", "here", "same"),
    [
        ("bench galvo", "bench galvo", True),
        ("Bench  Galvo", "bench galvo", True),
        ("bench galvo", "garden gantry", False),
        (None, "garden gantry", True),
    ],
)
def test_another_machine_than_the_graded_one_is_named(graded, here, same):
    filament = dataclasses.replace(GREEN, machine=graded)
    told = found(filament=filament, machine=dataclasses.replace(GALVO, name=here))
    assert ("another-machine" not in told) is same
    if not same:
        assert told["another-machine"].severity == "warn"
        assert "'bench galvo'" in told["another-machine"].message
        assert "'garden gantry'" in told["another-machine"].message


def test_without_a_machine_there_is_none_to_compare():
    assert "another-machine" not in found(machine=None)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"pitch": 0.2}, None),
        ({"pitch": 0.25}, "pitch of artwork, 0.25 mm, is 2.5 times that of"),
        ({"pitch": 0.04}, "0.4 times"),
        ({"speed": 1800.0}, None),
        ({"speed": 450.0}, None),
        ({"speed": 300.0}, "speed of artwork, 300 mm/s, is 0.33 times that of"),
    ],
)
def test_beyond_twice_or_half_the_graded_pitch_or_speed_it_is_said(changes, words):
    told = found(with_(**changes)).get("far-from-reference")
    if words is None:
        assert told is None
    else:
        assert told.severity == "note"
        assert words in told.message


def test_far_from_a_reference_that_nobody_graded_is_nothing_to_say():
    ungraded = dataclasses.replace(GREEN, reference=None)
    assert "far-from-reference" not in found(with_(speed=200.0), ungraded)


@pytest.mark.parametrize(
    ("filament", "words"),
    [
        (None, "no filament is named"),
        (Filament(name="moss"), "moss lacks a graded reference or its window"),
        (dataclasses.replace(GREEN, window=None), "green lacks a graded reference or its window"),
    ],
)
def test_without_grades_it_says_what_the_index_is_good_for(filament, words):
    told = found(filament=filament)["uncalibrated"]
    assert told.message.startswith(words)
    assert "uncalibrated: ranking only" in told.message


TRIED = dataclasses.replace(
    GREEN, tried=Tried(feature=(1.0, 5.0), size=(5.0, 12.0), filament="green")
)


@pytest.mark.parametrize(
    ("stem", "told"), [(1.0, False), (0.7, False), (0.6, True), (0.4, True), (0.3, False)]
)
def test_finer_places_than_graded_are_told_by_their_share(stem, told):
    # 36 mm² of leaf, 6 mm of stem; cells of 1 mm vouch for 1 / 1.5 mm and more, and for 1.8 mm²
    drawn = (shape(box(0, 0, 6, 6).union(box(6, 2, 12, 2 + stem))),)
    finding = found(filament=TRIED, drawn=drawn).get("finer-than-graded")
    assert (finding is not None) is told
    if finding:
        share = 100 * 6 * stem / (36 + 6 * stem)
        start = f"about {share:.0f} % of artwork is narrower than 0.67 mm"
        assert finding.message.startswith(start)
        assert finding.remedy.endswith("--lengths 0.67mm")


@pytest.mark.parametrize(
    ("long", "told"), [(2.4, True), (2.6, False), (8, False), (23, False), (25, True)]
)
def test_shapes_of_another_size_than_graded_are_told(long, told):
    # 5 to 12 mm were graded: half and twice of it are still like them
    finding = found(filament=TRIED, drawn=(shape(box(0, 0, long, 2.4)),)).get("another-scale")
    assert (finding is not None) is told
    if finding:
        assert (
            f"shapes of up to {long:g} mm, but graded shapes measure 5 to 12 mm" in finding.message
        )


@pytest.mark.parametrize(
    ("name", "graded", "printed", "told"),
    [
        ("green", "green", None, False),
        ("green", "green", "Green ", False),
        ("green", None, None, False),
        ("green", None, "slate", True),
        ("slate", "green", None, True),
        ("green", "green", "slate", True),
        ("slate", "green", "green", False),
    ],
)
def test_another_spool_than_the_graded_one_is_named(name, graded, printed, told):
    filament = dataclasses.replace(TRIED, name=name, tried=Tried(filament=graded))
    parts = (Part(outline=(9.0, 9.0), filament=printed),)
    art = artwork(*PATCH, settings=LIKE_IT)
    bench = Bench(machine=GALVO, filament=filament, parts=parts)
    findings = {
        f.code: f for f in predict(art, bench, effort=Effort.PREVIEW, surely=False).findings
    }
    assert ("another-filament" in findings) is told
    if told:
        assert findings["another-filament"].severity == "warn"
        assert "'green', but the part is of 'slate'" in findings["another-filament"].message


@pytest.mark.parametrize(
    ("tone", "says"), [(MarkTone.DARKER, "chars there"), (MarkTone.LIGHTER, "foams there")]
)
def test_hot_places_are_judged_by_the_tone_of_the_mark(tone, says):
    toned = dataclasses.replace(GREEN, mark=tone)
    told = found(with_(power=0.9), filament=toned)["hotter-than-predicted"]  # 1.8 on the patch
    assert told.severity == "note"
    assert says in told.message
    assert "heavier than predicted" in told.message
    assert "hotter-than-predicted" not in found(filament=toned)
    assert "hotter-than-predicted" not in found(with_(power=0.9))
    ungraded = dataclasses.replace(toned, reference=None)
    assert "hotter-than-predicted" not in found(with_(power=0.9), filament=ungraded)
