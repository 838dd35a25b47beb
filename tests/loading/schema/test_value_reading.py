"""Values read against a declared class: each type of value, and the sentence for each mistake."""

from __future__ import annotations

import pytest

from tests.loading.schema.beds import Bed, Leaf, Pot, read


def test_every_kind_of_value():
    text = """
    name: south
    pots: [{width: 2 cm, from: 90 deg}, {width: 5 mm}]
    shares: [100 %, 50 %]
    size: [10 mm, 1 in]
    leaf: moss
    rows: {fern: {width: 3 mm}}
    wet: true
    count: 3
    ratio: 2
    notes: [1, {a: b}]
    """
    value, complaints = read(text)
    assert complaints == []
    assert value == Bed(
        name="south",
        pots=(Pot(width=20.0, from_=90.0), Pot(width=5.0)),
        shares=(1.0, 0.5),
        size=(10.0, 25.4),
        leaf=Leaf.MOSS,
        rows={Leaf.FERN: Pot(width=3.0)},
        wet=True,
        count=3,
        ratio=2.0,
        notes=[1, {"a": "b"}],
    )
    assert isinstance(value.ratio, float)
    assert isinstance(value.leaf, Leaf)


def test_unions_are_told_apart_by_shape():
    assert read("name: a\nsize: small")[0].size == "small"
    assert read("name: a\nsize: {width: 1 mm}")[0].size == Pot(width=1.0)
    assert read("name: a\nsize: 3")[1] == ["bed.yaml:2:7: size is 3; put it in quotes: '3'"]
    assert read("name: a\nsize: [1 mm, -1 mm]")[1] == [
        "bed.yaml:2:14: size, entry 2 is -1 mm; it must be at least 0 mm"
    ]


def test_what_is_not_given_keeps_the_default_of_the_dataclass():
    value, _ = read("name: south")
    assert value == Bed(name="south")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("pots: []", "1:7: pots holds 0 values; give at least 1"),
        ("pots: {width: 1 mm}", "1:7: pots is a mapping; write a list such as [{width: 0.2 mm}]"),
        ("pots: [{width: 0 mm}]", "1:16: width is 0 mm; it must be above 0 mm and below 100 mm"),
        (
            "pots: [{width: 1 mm}, {}]",
            "1:23: pots, entry 2 lacks the key 'width'; add it, for example width: 0.2 mm",
        ),
        ("pots: [3]", "1:8: pots, entry 1 is 3; write a mapping with the keys width, from"),
        ("pots: [{width: 1 mm, from_: 1 deg}]", "1:22: unknown key 'from_'; did you mean from?"),
        (
            "shares: [50 %, 120 %]",
            "1:16: shares, entry 2 is 120 %; it must be above 0 % and at most 100 %",
        ),
        ("shares: 50 %", "1:9: shares is '50 %'; write a list such as [55 %]"),
        ("shares: [0.5]", "1:10: shares, entry 1: 0.5 has no unit; write for example 0.5 %"),
        ("size: [1 mm]", "1:7: size holds 1 value; write a list such as [0.2 mm, 0.2 mm]"),
        ("leaf: mos", "1:7: leaf is 'mos'; did you mean moss?"),
        ("leaf: 7", "1:7: leaf is 7; write one of fern, moss"),
        ("rows: {mos: {width: 1 mm}}", "1:8: unknown key 'mos'; did you mean moss?"),
        ("rows: [a]", "1:7: rows is a list; write a mapping such as {fern: {width: 0.2 mm}}"),
        ("wet: yes", "1:6: wet is 'yes'; write true or false"),
        ("count: true", "1:8: count is true; write a whole number"),
        ("count: 1.0", "1:8: count is 1.0; write a whole number"),
        ("count: 10", "1:8: count is 10; it must be at least 1 and at most 9"),
        ("ratio: .nan", "1:8: ratio is nan; write a number"),
        ("ratio: true", "1:8: ratio is true; write a number"),
        ("ratio: '1'", "1:8: ratio is '1'; write a number"),
        ("wet:", "1:1: wet has no value; give it one or delete it"),
        (
            "leaf: #moss",
            "1:1: leaf has no value, since the unquoted #moss starts a comment; quote it: '#moss'",
        ),
        (
            "pots:\n - #a\n",
            (
                "2:3: pots, entry 1 has no value, since the unquoted #a starts a comment; quote "
                "it: '#a'"
            ),
        ),
        (
            "zinc: 1",
            (
                "1:1: unknown key 'zinc'; known keys: name, pots, shares, size, leaf, rows, "
                "wet, count, ratio, notes"
            ),
        ),
    ],
)
def test_sentences(text, sentence):
    value, complaints = read(f"{text}\nname: south\n")
    assert value is None
    assert complaints == [f"bed.yaml:{sentence}"]


def test_all_complaints_at_once():
    _, complaints = read("leaf: mos\ncount: 0\ncolour: red\nshares: [1, 2]\nwet:\n")
    assert len(complaints) == 7
    assert (
        "bed.yaml:1:1: the file lacks the key 'name'; add it, for example name: 'text'"
        in complaints
    )
