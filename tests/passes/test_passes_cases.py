"""Every case in fixtures/passes: the recorded picture, the hand-worked facts, the promises."""

from __future__ import annotations

import copy
import re
from dataclasses import replace
from functools import partial

import pytest
import shapely

from preprocess.engine.facts import CORE, facts_of
from preprocess.engine.ledger import imbalances, totals
from preprocess.errors import Refusal
from tests.passes import cases
from tests.passes.cases import CASES

NARROWER = "ends that are still narrow are pulled in once more"
SEALED = "bars are sealed: a second run is refused"
TWICE_DIFFERS = {
    **{
        f"equalize-width/{name}": SEALED
        for name in ("one-leaf", "quick-rows-only", "side-by-side", "two-stretches", "upright-rows")
    },
    "compensate-spot": "edges that are moved twice move twice as far",
    "inset-tips/capped-retreat": NARROWER,
    "inset-tips/crescent-horns": NARROWER,
    "inset-tips/grass-blades": NARROWER,
    "inset-tips/one-straight-tip": NARROWER,
    "inset-tips/serifs": NARROWER,
    "inset-tips/star-points": NARROWER,
    "inset-tips/tapering-stroke": NARROWER,
    "negative": "the negative of a negative is the motif",
    "place/underside": "a drawing that is turned or mirrored twice is turned twice",
    "place/beside-the-hole": "a drawing that is shifted twice is shifted twice",
    "score-edges": "edges that are scored twice get two lines",
    "place/tray-of-labels": "copies of copies would overlap: a second run is refused",
}
"""Passes, or single cases of them, that change something when they run again, and why."""

REFUSED = {"tray-of-labels", "only-the-name"}
"""Cases whose second run is refused."""


def named(case):
    return f"{case.parent.name}/{case.name}"


def excused(case):
    return TWICE_DIFFERS.get(case.parent.name) or TWICE_DIFFERS.get(named(case))


@pytest.fixture(params=CASES, ids=named, scope="module")
def ran(request):
    return (request.param, *cases.run(request.param))


def test_there_are_cases_for_every_pass_here():
    assert len(CASES) >= 15
    assert {case.name for case in cases.FOLDER.glob("*/*")} == {case.name for case in CASES}


def test_the_case_is_about_its_pass(ran):
    case, loaded, _ = ran
    assert loaded.steps[-1].name == case.parent.name


def test_the_picture_is_the_recorded_one(ran):
    case, loaded, result = ran
    assert result.data is not None, result.findings
    grid = 10.0**-loaded.options.drawing.decimals
    made, kept = cases.paths_of(result.data), cases.paths_of((case / "out.svg").read_bytes())
    assert [(p.layer, p.id, p.filled) for p in made] == [(p.layer, p.id, p.filled) for p in kept]
    for one, other in zip(made, kept, strict=True):
        a, b = one.geometry, other.geometry
        if one.filled:
            assert a.symmetric_difference(b).area <= grid / 2 * b.length, one.id
            assert cases.measured([one], "holes") == cases.measured([other], "holes")
        else:
            assert a.hausdorff_distance(b) <= grid
            assert a.length == pytest.approx(b.length, abs=grid * shapely.get_num_coordinates(b))


def test_the_recorded_picture_is_what_was_worked_out_by_hand(ran):
    case, _, result = ran
    kept = cases.paths_of((case / "out.svg").read_bytes())
    facts = cases.facts_of((case / "notes.txt").read_text("utf-8"))
    assert {"shapes", "area_mm2"} <= {key for _, key, _ in facts} <= {*cases.KEYS}
    assert {layer for layer, _, _ in facts} - {None} <= {path.layer for path in kept}
    for layer, key, value in facts:
        mine = [path for path in kept if layer in {None, path.layer}]
        if key == "findings":
            assert set(value.split(", ")) <= {finding.code for finding in result.findings}
        elif key == "ids":
            assert [path.id for path in mine] == value.split(), layer
        else:
            number, _, tolerance = value.partition(" ± ")
            wanted = [float(text) for text in number.split()]
            slack = float(tolerance or 1e-3)
            assert cases.measured(mine, key) == pytest.approx(wanted, abs=slack), (layer, key)


def test_notes_begin_with_what_the_case_shows(ran):
    """That line is what docs/reference/passes says of the case."""
    case, _, _ = ran
    first, blank, *rest = (case / "notes.txt").read_text("utf-8").splitlines()
    assert re.fullmatch(r"[A-Z].{15,98}\.", first)
    assert blank == ""
    assert not cases.facts_of(first)
    assert any(re.search("[a-z]", line) for line in rest)


def test_a_second_run_changes_nothing(ran):
    case, loaded, result = ran
    if excused(case):
        return
    one = result.after
    two = loaded.steps[-1].params(one, result.bench).artwork
    assert [(s.id, s.layer, s.operation, s.level) for s in one.shapes] == [
        (s.id, s.layer, s.operation, s.level) for s in two.shapes
    ]
    for a, b in zip(one.shapes, two.shapes, strict=True):
        assert a.geometry.hausdorff_distance(b.geometry) < 1e-9
    assert (one.layers, one.page, one.parts) == (two.layers, two.page, two.parts)


def test_those_that_are_excused_do_differ(ran):
    """A reason that no longer holds would hide a case that should be tested."""
    case, loaded, result = ran
    if not excused(case):
        return
    again = partial(loaded.steps[-1].params, result.after, result.bench)
    if case.parent.name == "equalize-width" or case.name in REFUSED:
        refused = r"no row needs|bars of an earlier step|copies .* would overlap|only some of"
        with pytest.raises(Refusal, match=refused):
            again()
    else:
        assert again().artwork != result.after


def test_a_pass_is_a_function(ran):
    """What goes in is left as it was, and the same comes out again."""
    _, loaded, result = ran
    artwork, bench = result.before, result.bench
    for step in loaded.steps:
        as_it_was = copy.deepcopy(artwork)
        once, again = step.params(artwork, bench), step.params(as_it_was, bench)
        assert artwork == as_it_was, step.name
        assert once == again, step.name
        artwork = once.artwork


def test_each_pass_keeps_its_promises(ran):
    """Facts that are given or kept hold on the real artwork, and every step's ledger balances."""
    _, loaded, result = ran
    artwork = result.before
    for step in loaded.steps:
        params = step.params
        outcome = params(artwork, result.bench)
        after = outcome.artwork
        assert not imbalances(totals(artwork), outcome.changes, totals(after)), step.name
        contract = params.contract_on(result.bench)
        for layer in artwork.layers:
            held = facts_of(artwork, layer.name, CORE if artwork.shapes_of(layer.name) else ())
            holds = facts_of(after, layer.name, CORE)
            assert held & contract.keeps <= holds, (step.name, layer.name)
            if params.only is None and params.except_ is None:
                assert contract.gives <= holds, (step.name, layer.name)
        artwork = after
    assert [s.id for s in artwork.shapes] == [s.id for s in result.after.shapes]


def test_an_empty_artwork_stays_empty(ran):
    case, loaded, result = ran
    step = loaded.steps[-1]
    if case.parent.name == "equalize-width" or step.params.only or step.params.except_:
        return
    empty = replace(result.before, shapes=())
    assert step.params(empty, result.bench).artwork.shapes == ()
