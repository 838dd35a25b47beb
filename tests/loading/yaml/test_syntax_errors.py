"""Texts that are no YAML: one sentence each, with its place."""

from __future__ import annotations

import pytest

from preprocess.errors import UserError
from preprocess.loading.yaml.yaml_document import parse_yaml


def refused(text):
    with pytest.raises(UserError) as caught:
        parse_yaml(text, "r.yaml")
    return [str(complaint) for complaint in caught.value.complaints]


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
