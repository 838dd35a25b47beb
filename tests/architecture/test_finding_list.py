"""The list of findings: nothing is missing, and codes keep to their form."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from preprocess.read.messages.remark_texts import REMARK_TEXTS
from tests.finding_list import GAP, findings, page

ROOT = Path(__file__).parents[2]
SOURCES = sorted((ROOT / "preprocess").rglob("*.py"))


def test_each_code_in_the_source_is_listed() -> None:
    told = {one.code for one in findings(ROOT)}
    written = set(REMARK_TEXTS)
    for path in SOURCES:
        text = path.read_text("utf-8")
        written |= set(re.findall(r"\b(?:stop|warn|note)\(\s*\"([^\"]+)\"", text))
    assert written <= told
    assert all(re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", code) for code in told)


def test_codes_that_the_source_puts_together_are_listed() -> None:
    told = {(one.code, one.severity) for one in findings(ROOT)}
    for severity in ("warn", "note"):
        assert {("layer-power", severity), ("too-heavy", severity), ("too-weak", severity)} <= told
        assert {("more-too-heavy", severity), ("more-too-weak", severity)} <= told
    assert ("off-the-page", "warn") in told
    assert {
        (f"{name}-without-effect", "note") for name in ("merge", "order-shapes", "split")
    } <= told


def test_a_code_that_cannot_be_read_from_the_source_is_refused(tmp_path) -> None:
    room = tmp_path / "preprocess"
    room.mkdir()
    (room / "moss.py").write_text("def f(x):\n    return [warn(x[0], 'moss', 'mow it')]\n")
    with pytest.raises(ValueError, match=r"moss\.py:2: a code that cannot be read"):
        findings(tmp_path)


def test_findings_are_made_in_two_places_only() -> None:
    """By `stop`, `warn` and `note`, whose codes are read, and from the table of remarks."""
    makers = [
        path.relative_to(ROOT).as_posix()
        for path in SOURCES
        if re.search(r"\bFinding\(\n?\s*code", path.read_text("utf-8"))
    ]
    assert makers == ["preprocess/findings.py", "preprocess/read/messages/remarks.py"]


def test_each_finding_has_words() -> None:
    for one in findings(ROOT):
        assert re.search(r"\w", one.message.replace(GAP, "")) or one.remedy, one.code


def test_a_stop_says_what_to_do() -> None:
    assert not [one.code for one in findings(ROOT) if one.severity == "stop" and not one.remedy]


def test_sentences_are_those_of_the_source() -> None:
    text = page(ROOT)
    assert (
        "| `nothing-to-mark` | the drawing holds nothing to mark | check that the shapes are "
        "visible, filled or stroked, and not in the page's colour |"
    ) in text
    assert "| `off-the-field` | … would leave the field of … × … mm, by up to … mm |" in text
    assert all(f"| `{code}` |" in text for code in REMARK_TEXTS)


def test_words_of_neighbours_are_not_mixed_up() -> None:
    by_code = {one.code: one for one in findings(ROOT)}
    assert (
        by_code["speed-out-of-range"].message
        == f"{GAP} asks for {GAP} mm/s, which the machine cannot do"
    )
    assert by_code["power-out-of-range"].remedy == f"choose between {GAP} % and {GAP} %"
    assert by_code["bar-over-window"].remedy.startswith("give the card less clearance")
