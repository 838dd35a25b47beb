"""YAML with places: JSON is YAML, so the standard library's writer is the second opinion."""

from __future__ import annotations

import json
import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preprocess.errors import UserError
from preprocess.loading.yaml.yaml_document import parse_yaml

printable = st.characters(
    codec="utf-8",
    exclude_categories=["Cc", "Cs", "Zl", "Zp", "Cn"],
    max_codepoint=0xFFF0,
    exclude_characters="\ufeff",
)
texts = st.text(printable, max_size=8)
values = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**12), 10**12) | texts,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4),
    max_leaves=12,
)
mappings = st.dictionaries(texts, values, min_size=1, max_size=5)


def refused(text):
    with pytest.raises(UserError) as caught:
        parse_yaml(text, "r.yaml")
    return [str(complaint) for complaint in caught.value.complaints]


@given(mappings, st.sampled_from([None, 2]))
def test_json_is_read_as_json_does(data, indent):
    text = json.dumps(data, ensure_ascii=False, indent=indent)
    assert parse_yaml(text, "r.yaml").data == data


@given(mappings)
def test_places_point_at_the_very_key_and_value(data):
    text = json.dumps(data, ensure_ascii=False, indent=1)
    document = parse_yaml(text, "r.yaml")

    def stands_at(place):
        return document.line_at(place)[place.column - 1 :]

    for path, place in document.keys.items():
        assert stands_at(place).startswith(json.dumps(path[-1], ensure_ascii=False))
    for path, place in document.values.items():
        held = data
        for step in path:
            held = held[step]
        start = {dict: "{", list: "["}.get(type(held)) or json.dumps(held, ensure_ascii=False)
        assert stands_at(place).startswith(start)


@given(st.text(max_size=40))
def test_any_text_gives_values_or_sentences_with_a_place(text):
    try:
        document = parse_yaml(text, "r.yaml")
    except UserError as error:
        assert error.complaints  # noqa: PT017 - either way is right
        for complaint in error.complaints:
            assert str(complaint).startswith("r.yaml")
            assert "\n" not in complaint.remedy
    else:
        assert isinstance(document.data, dict)


def test_numbers_follow_yaml_1_2():
    text = "a: [0o17, 0x1F, 1_000, 010, 1e3, +.5, .inf, -.inf, .nan, yes, 12:30, 2020-01-01]"
    *numbers, nan, yes, clock, date = parse_yaml(text, "r.yaml").data["a"]
    assert numbers == [15, 31, 1000, 10, 1000.0, 0.5, math.inf, -math.inf]
    assert math.isnan(nan)
    assert (yes, clock, date) == ("yes", "12:30", "2020-01-01")


def test_aliases_are_written_out_and_an_anchor_may_be_set_anew():
    text = "a: &x {p: 1}\nb: *x\nc: &x 2\nd: *x\n"
    assert parse_yaml(text, "r.yaml").data == {"a": {"p": 1}, "b": {"p": 1}, "c": 2, "d": 2}


def test_every_complaint_comes_at_once():
    assert refused("a: 1\na: 2\nb: !!set {x}\n? [k]\n: 3\n") == [
        "r.yaml:2:1: 'a' is written twice, first in line 1; keep one of the two",
        "r.yaml:3:4: the tag !!set stands here; tags are not taken; delete it",
        "r.yaml:4:3: a list stands where a key is due; write the key as a plain word",
    ]


def test_nothing_is_run(tmp_path):
    trap = tmp_path / "trap"
    refused(f"a: !!python/object/apply:os.mkdir ['{trap}']")
    assert not trap.exists()


def bomb():
    """Each line holds the one before nine times: 9^6 values in six lines."""
    lines = ["a: &a [x, x, x, x, x, x, x, x, x]"]
    for before, name in ("ab", "bc", "cd", "de", "ef"):
        lines.append(f"{name}: &{name} [{', '.join(['*' + before] * 9)}]")
    return "\n".join(lines)


BOMBS = {
    "alias of itself": "&a [*a]",
    "mapping of itself": "a: &a\n  b: *a",
    "brackets": "[" * 5000,
    "deep": "a: " + "[" * 60 + "]" * 60,
    "bomb": bomb(),
}


@pytest.mark.parametrize("case", BOMBS)
def test_bombs_are_refused(case):
    [sentence] = refused(BOMBS[case])
    assert "deep" in sentence


def test_a_decimal_comma_in_brackets_is_kept_together():
    document = parse_yaml("a: {by: 0,05 mm, to: 3, 4: x}\nb: {c: 1,d: 2, e: [0,5]}", "r.yaml")
    assert document.data == {
        "a": {"by": "0,05 mm", "to": 3, "4": "x"},
        "b": {"c": 1, "d": 2, "e": [0, 5]},
    }


GUARDED = """
import sys
from preprocess.errors import UserError
from preprocess.loading.yaml.yaml_document import parse_yaml
try:
    parse_yaml(eval(sys.argv[1]), "label.yaml")
except UserError as error:
    print(error)
"""

ALIASES = """'b0: &b0 [x]\\n' + ''.join(
    f"b{i}: &b{i} [{', '.join([f'*b{i - 1}'] * 9)}]\\n" for i in range(1, 9)
)"""

ENDLESS = {
    "brackets": ("'a: ' + '[' * 400_000", "nested too deeply"),
    "braces": ("'a: ' + '[{' * 200_000", "nested too deeply"),
    "closed": ("'a: ' + '[' * 3000 + ']' * 3000", "nested too deeply"),
    "dashes": ("'a:\\n' + '- ' * 9000 + 'x'", "nested too deeply"),
    "questions": ("'? ' * 9000", "nested too deeply"),
    "aliases": (ALIASES, "aliases and brackets go too deep"),
    "itself": ("'a: &a [*a]'", "an alias (*name) holds itself"),
}


@pytest.mark.parametrize("name", ENDLESS)
def test_what_would_exhaust_a_reader_ends_in_a_sentence(name):
    code, words = ENDLESS[name]
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", GUARDED, code],
        capture_output=True,
        text=True,
        timeout=20,
        check=False,
    )
    assert words in done.stdout, done.stderr[-500:]
    assert not done.stderr
