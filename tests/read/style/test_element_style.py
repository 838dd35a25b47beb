"""Shapes that have the same rules share what is worked out, and nothing else."""

import pytest

from tests.read.reading import read_sheet

SHEET = "<style>.leaf{fill:#245}#b{fill:none}rect.wide{width:8px}</style>"


def boxes(body):
    """Bounds in mm of each shape that is painted, by its id."""
    shapes = read_sheet(SHEET + body).artwork.shapes
    return {one.id: tuple(round(x, 6) for x in one.geometry.bounds) for one in shapes}


def rect(name, more=""):
    return f'<rect id="{name}" class="leaf" width="5" height="5" {more}/>'


def test_each_stands_in_its_own_place():
    body = rect("a") + rect("c", 'x="10"') + rect("d", 'x="20" transform="translate(0 7)"')
    assert boxes(body) == {"a": (0, 0, 5, 5), "c": (10, 0, 15, 5), "d": (20, 7, 25, 12)}


def test_a_rule_for_one_id_is_not_shared():
    assert set(boxes(rect("a") + rect("b") + rect("c"))) == {"a", "c"}


def test_rules_go_before_what_attributes_say_of_the_place():
    body = rect("a").replace("leaf", "leaf wide") + rect("c", 'style="height:2px;x:30px" x="50"')
    assert boxes(body) == {"a": (0, 0, 8, 5), "c": (30, 0, 35, 2)}


def test_groups_pass_on_what_is_theirs():
    """A place is inherited only where it is asked for: 10 px from the first group, 30 from the
    second, which has the same rules."""
    inside = rect("{}", 'x="inherit"')
    groups = "".join(f'<g x="{x}">{inside.format(name)}</g>' for x, name in ((10, "a"), (30, "c")))
    assert boxes(groups) == {"a": (10, 0, 15, 5), "c": (30, 0, 35, 5)}


def test_a_group_that_moves_its_shapes_moves_only_those():
    groups = f'<g transform="translate(40 0)">{rect("a")}</g><g>{rect("c")}</g>'
    assert boxes(groups) == {"a": (40, 0, 45, 5), "c": (0, 0, 5, 5)}


def test_a_hidden_group_hides_only_its_own():
    groups = f'<g visibility="hidden">{rect("a")}</g><g opacity="0">{rect("d")}</g>{rect("c")}'
    assert set(boxes(groups)) == {"c"}


def test_each_says_what_cannot_be_read_of_it():
    found = read_sheet(SHEET + rect("a", 'rx="moth"') + rect("c", 'rx="moth"')).findings
    (wrong,) = (one for one in found if one.code == "style-value-ignored")
    assert wrong.elements == ("a", "c")


@pytest.mark.parametrize(
    "selector", [".leaf", "rect", "circle, rect.leaf", "g > rect", ".leaf:not(#c)", "[x]"]
)
def test_selectors_plain_and_not(selector):
    """ "c" stands outside the group and has no x; the rule asks for the element itself or more."""
    style = f"<style>{selector}{{height:9px}}</style>"
    group = "<g>" + rect("a", 'x="10"') + "</g>"
    found = boxes(style + group + rect("c", 'transform="translate(50 0)"'))
    tall = {name for name, box in found.items() if box[3] == 9}
    alone = selector in {"g > rect", ".leaf:not(#c)", "[x]"}
    assert tall == ({"a"} if alone else {"a", "c"})
