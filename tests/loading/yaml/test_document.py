"""YAML with places: JSON is YAML, so the standard library's writer is the second opinion."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preprocess.errors import UserError
from preprocess.loading.yaml.document import load_yaml, parse_yaml
from preprocess.loading.yaml.files import MOST_BYTES, read_text

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
        return document.lines[place.line - 1][place.column - 1 :]

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


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("a:\n\t- b\n\n\t- c\n", "r.yaml:2:1: a tab indents this line and 1 more line"),
        ("a: {b: #x}\n", "r.yaml:1:8: the unquoted #x starts a comment"),
        ("a: [b,\n  #x]\n", "r.yaml:2:3: the unquoted #x starts a comment"),
        ("a: [1\nb: 2\n", "r.yaml:2:2: a bracket is not closed"),
        ("a: 'x\n\n", "r.yaml:1:4: a quotation mark opens here and never closes"),
        ("a: *x\n", "r.yaml:1:4: a text that starts with * refers to nothing"),
        ("a: b: c\n", "r.yaml:1:5: a second ': ' stands in this line"),
        ("a: @x\n", "r.yaml:1:4: a text cannot start with this character"),
        ("- a\nb: 1\n", "r.yaml:2:1: this line does not belong to what stands above it"),
        ("  a: 1\n b: 2\n", "r.yaml:2:2: this line is indented unlike the first one"),
        ("a: 1\n---\nb: 1\n", "r.yaml:2:1: a second document starts here"),
        ("a:\n  b\nc\n", "r.yaml:3:1: a key stands here without its colon"),
        ("a: \x07\n", "r.yaml:1: a control character (code 7) stands here; delete it"),
        ("- a\n", "r.yaml:1:1: the file holds a list where a mapping is due"),
        ("fern\n", "r.yaml:1:1: the file holds a single text where a mapping is due"),
        ("", "r.yaml: the file is empty"),
        ("# only a comment\n", "r.yaml: the file is empty"),
    ],
)
def test_syntax_in_plain_words(text, sentence):
    [found] = refused(text)
    assert found.startswith(sentence)
    assert "\n" not in found


def test_files_that_cannot_be_read(tmp_path):
    (tmp_path / "bench.yaml").write_text("name: bench\n")
    (tmp_path / "latin.yaml").write_bytes("a: 1\nb: für\n".encode("latin-1"))
    (tmp_path / "large.yaml").write_bytes(b"#" * (MOST_BYTES + 1))
    for name, sentence in {
        "bench.yml": f"there is no such file; did you mean {tmp_path / 'bench.yaml'}?",
        "latin.yaml": "the file is not UTF-8 text; save it as UTF-8 in the text editor",
        "large.yaml": "is over 1 MB; name the file that was meant",
        "no/such/x.yaml": "there is no such file; check the path",
        ".": "that is a folder; name a file in it",
        "nul\0.yaml": "cannot be read (embedded null byte); check its permissions",
    }.items():
        with pytest.raises(UserError) as caught:
            load_yaml(tmp_path / name)
        assert str(caught.value).endswith(sentence)


def test_a_byte_order_mark_is_no_content(tmp_path):
    path = tmp_path / "r.yaml"
    path.write_bytes(b"\xef\xbb\xbfa: 1\r\nb: 2\r\n")
    assert read_text(path).startswith("a")
    assert load_yaml(path).data == {"a": 1, "b": 2}


def test_a_decimal_comma_in_brackets_is_kept_together():
    document = parse_yaml("a: {by: 0,05 mm, to: 3, 4: x}\nb: {c: 1,d: 2, e: [0,5]}", "r.yaml")
    assert document.data == {
        "a": {"by": "0,05 mm", "to": 3, "4": "x"},
        "b": {"c": 1, "d": 2, "e": [0, 5]},
    }
