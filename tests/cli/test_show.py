"""What reaches the terminal: findings, tables, colours, narrow screens."""

from __future__ import annotations

import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preprocess.cli import show
from preprocess.findings import note, stop, warn

FOUND = [
    stop("no-room", "the bars need 4 mm more", "move the part", elements=["label-edge"]),
    warn("off-part", "2 shapes lie beside the part", "move them", elements=list("abcdefg")),
    note("assumed-scale", "96 px are taken as 1 in"),
]


STEERING = re.compile(
    "[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]"
)


@given(st.text(st.characters() | st.sampled_from("\x1b\x07\x9b\r\n\u202e\u2066\udcff\u2028")))
def test_clean_text_is_one_line_that_steers_nothing(text):
    cleaned = show.escape_controls(text)
    assert not STEERING.search(cleaned)
    assert show.escape_controls(cleaned) == cleaned


@given(st.text(st.characters(categories=["L", "N", "P", "S"])))
def test_clean_leaves_letters_alone(text):
    assert show.escape_controls(text) == text


def test_findings_are_lines_on_standard_error(capsys):
    show.print_findings(FOUND)
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines() == [
        "stop: the bars need 4 mm more; move the part (label-edge) [no-room]",
        "warn: 2 shapes lie beside the part [off-part]",
        "1 note: --verbose",
    ]


def test_verbose_tells_each_finding_in_full(capsys):
    show.print_findings(FOUND, verbose=True)
    assert capsys.readouterr().err.splitlines() == [
        "stop: the bars need 4 mm more; move the part (label-edge) [no-room]",
        "warn: 2 shapes lie beside the part; move them (a, b, c, d, e and 2 more) [off-part]",
        "note: 96 px are taken as 1 in [assumed-scale]",
    ]


def test_quiet_leaves_the_card_under_bars_unless_all_is_stopped(capsys):
    card = note("backing-needed", "2 bars mark what lies there", "lay a card there")
    show.print_findings([card, note("x", "nothing much")], quiet=True)
    assert capsys.readouterr().err == "card: 2 bars mark what lies there; lay a card there\n"
    show.print_findings([stop("y", "no", "mend it"), card], quiet=True)
    assert capsys.readouterr().err == "stop: no; mend it [y]\n"


def test_quiet_leaves_warnings(capsys):
    show.print_findings(FOUND, quiet=True)
    show.tell_written("out.svg", quiet=True)
    assert capsys.readouterr().err.splitlines() == [
        "stop: the bars need 4 mm more; move the part (label-edge) [no-room]",
        "warn: 2 shapes lie beside the part [off-part]",
    ]


def test_findings_as_json_lines_hold_every_field(capsys):
    show.print_findings(FOUND, as_json=True)
    show.tell_written("out.svg", as_json=True)
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line["kind"] for line in lines] == ["finding", "finding", "finding", "wrote"]
    assert lines[1]["elements"] == list("abcdefg")
    assert lines[0]["severity"] == "stop"
    assert lines[0]["code"] == "no-room"


def test_an_output_that_was_piped_is_not_spoken_of(capsys):
    show.tell_written("-")
    show.tell_written("out.svg")
    assert capsys.readouterr().err == "wrote out.svg\n"


def test_markup_in_text_is_text(capsys):
    show.print_sentence("layer [bold]fern[/bold] :fern: http://x")
    assert capsys.readouterr().err == "layer [bold]fern[/bold] :fern: http://x\n"


@pytest.fixture
def terminal(monkeypatch):
    """Makes the program believe in a terminal of some width."""

    def of(width, **environment):
        monkeypatch.setenv("FORCE_COLOR", "1")
        monkeypatch.setenv("TERM", "xterm-256color")
        monkeypatch.setenv("COLUMNS", str(width))
        monkeypatch.delenv("NO_COLOR", raising=False)
        for name, value in environment.items():
            monkeypatch.setenv(name, value)

    return of


def test_colour_on_a_terminal_and_none_with_no_color(capsys, terminal):
    terminal(80)
    show.print_findings(FOUND[:1])
    assert "\x1b[" in capsys.readouterr().err
    terminal(80, NO_COLOR="1")
    show.print_findings(FOUND[:1])
    assert "\x1b[3" not in capsys.readouterr().err


ROWS = [("strokes-to-areas", "Turn strokes into areas of the same paint."), ("merge", "Unite.")]


def test_a_pipe_gets_one_line_for_each_row(capsys):
    show.print_pairs([(name, text * 9) for name, text in ROWS])
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines] == ["strokes-to-areas", "merge"]


def test_a_narrow_terminal_puts_text_below_names(capsys, terminal):
    terminal(30, NO_COLOR="1")
    show.print_pairs(ROWS)
    lines = [line.rstrip() for line in plain(capsys.readouterr().out).splitlines()]
    assert lines[0] == "strokes-to-areas"
    assert lines[1].startswith("  Turn strokes")
    assert max(map(len, lines)) <= 30


def test_a_wide_terminal_puts_them_side_by_side(capsys, terminal):
    terminal(70, NO_COLOR="1")
    show.print_pairs(ROWS)
    lines = plain(capsys.readouterr().out).splitlines()
    assert lines[0].startswith("strokes-to-areas  Turn strokes")
    assert lines[-1].startswith("merge             Unite.")


TABLE = (("layer", "rows", "time"), [("fronds-1", "157", "21.3 s"), ("dots", "9", "0.4 s")])


def test_a_table_has_its_numbers_to_the_right(capsys):
    show.print_table(*TABLE)
    assert capsys.readouterr().out == (
        "layer     rows    time\nfronds-1   157  21.3 s\ndots         9   0.4 s\n"
    )


def test_a_table_keeps_its_shape_as_long_as_it_fits(capsys, terminal):
    terminal(22, NO_COLOR="1")
    show.print_table(*TABLE)
    assert plain(capsys.readouterr().out).splitlines()[1] == "fronds-1   157  21.3 s"
    terminal(21, NO_COLOR="1")
    show.print_table(*TABLE)
    lines = [line.rstrip() for line in plain(capsys.readouterr().out).splitlines()]
    assert lines == [
        "fronds-1",
        "  rows: 157",
        "  time: 21.3 s",
        "dots",
        "  rows: 9",
        "  time: 0.4 s",
    ]


def test_cells_of_a_table_cannot_steer_the_terminal(capsys):
    show.print_table(("layer",), [("a\x1b[2Jb",)])
    assert capsys.readouterr().out == "layer\na\\x1b[2Jb\n"


def plain(text):
    """The text without the bold that stays when colours go."""
    for code in ("\x1b[1m", "\x1b[0m"):
        text = text.replace(code, "")
    return text


def test_a_long_note_is_wrapped_under_its_label_and_no_word_is_lost(capsys):
    words = " ".join(f"word{number}" for number in range(40))
    show.print_findings([note("x", words), stop("y", words, "mend it")], verbose=True)
    first, *others = capsys.readouterr().err.splitlines()
    assert others[-1] == f"stop: {words}; mend it [y]"
    told = [first, *others[:-1]]
    assert all(len(line) <= 100 for line in told)
    assert all(line.startswith("      word") for line in told[1:])
    assert " ".join(line.strip() for line in told) == f"note: {words} [x]"
