from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from preprocess.write.svg.xml_text import UniqueIds, escape_text


def xml_id(name: str) -> str:
    """The id as an XML parser with a DTD accepts it: an attribute of type ID has to be a Name."""
    dtd = "<!DOCTYPE a [<!ELEMENT a EMPTY><!ATTLIST a id ID #REQUIRED>]>"
    root = etree.fromstring(f'{dtd}<a id="{name}"/>'.encode(), etree.XMLParser(dtd_validation=True))
    return root.get("id")


@given(st.lists(st.text(max_size=12), max_size=8))
def test_ids_are_valid_and_unique(wanted):
    names = UniqueIds()
    given_out = [names.take(text) for text in wanted]
    assert len(set(given_out)) == len(given_out)
    for name in given_out:
        assert xml_id(name) == name
        assert ":" not in name


def test_a_good_id_stays():
    names = UniqueIds()
    assert [names.take(n) for n in ("frond", "leaf_2.a-b", "Farn-ä", "シダ")] == [
        "frond",
        "leaf_2.a-b",
        "Farn-ä",
        "シダ",
    ]


def test_bad_ids_are_mended():
    names = UniqueIds()
    assert names.take("2nd leaf") == "_2nd-leaf"
    assert names.take("a:b") == "a-b"
    assert names.take("a b") == "a-b-2"
    assert names.take("a-b-2") == "a-b-2-2"
    assert names.take("svg[1]/path[3]") == "svg-1-path-3"
    assert names.take("") == "shape"
    assert names.take("\ud800") == "shape-2"


@given(st.text())
def test_text_survives_an_xml_parser(text):
    root = etree.fromstring(f'<t a="{escape_text(text)}">{escape_text(text)}</t>'.encode())
    assert (root.text or "") == root.get("a")


def test_markup_and_control_characters_do_not_pass():
    assert escape_text('<script>"&\x00\x1b[31m\n moth') == "&lt;script&gt;&quot;&amp;[31m moth"
