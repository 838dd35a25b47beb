"""Passes of other packages: listed without import, refused by name, never in the way."""

from __future__ import annotations

import sys

import pytest

from preprocess.engine import registry
from preprocess.engine.facts import FILLED, Fact
from preprocess.errors import Place, UserError
from tests.recipe.plugins import PASS, offer

HERE = Place("recipe.yaml", 7, 5)
BUILT_IN = {
    "drop-duplicates",
    "equalize-width",
    "inset-tips",
    "merge",
    "place",
    "split",
    "strokes-to-areas",
    "tag-power",
}


@pytest.fixture
def install(tmp_path, monkeypatch):
    """Installs a package for the length of a test."""
    before = set(sys.modules)

    def installed(package, module, source, **passes):
        monkeypatch.syspath_prepend(offer(tmp_path, package, module, source, **passes))

    yield installed
    for name in set(sys.modules) - before:
        if name.startswith("nursery"):
            del sys.modules[name]


def refusal(name):
    with pytest.raises(UserError) as caught:
        registry.load_pass(name, place=HERE)
    return str(caught.value)


def test_built_in_passes_are_named():
    assert set(registry.pass_names()) >= BUILT_IN
    assert list(registry.pass_names()) == sorted(registry.pass_names())


def test_another_package_can_offer_a_pass(install):
    install("nursery", "nursery_prune", PASS, prune="Prune")
    assert "prune" in registry.pass_names()
    assert registry.load_pass("prune").name == "prune"


def test_listing_runs_nothing(install):
    install("nursery", "nursery_prune", "raise SystemExit('run')\n" + PASS, prune="Prune")
    assert "prune" in registry.pass_names()
    assert registry.pass_summary("prune") == "Cut twigs back."
    assert "nursery_prune" not in sys.modules


def test_a_summary_inside_a_package_is_read_without_running_the_package(
    tmp_path, install, monkeypatch
):
    install("nursery", "nursery_empty", "", prune="Prune")
    inner = tmp_path / "site" / "nursery_tools" / "deep"
    inner.mkdir(parents=True)
    for folder in (inner.parent, inner):
        (folder / "__init__.py").write_text("raise SystemExit('run')")
    (inner / "prune.py").write_text(PASS)
    entries = next((tmp_path / "nursery").glob("*.dist-info")) / "entry_points.txt"
    entries.write_text("[preprocess.passes]\nprune = nursery_tools.deep.prune:Prune\n")
    monkeypatch.syspath_prepend(tmp_path / "site")
    assert registry.pass_summary("prune") == "Cut twigs back."
    assert "nursery_tools" not in sys.modules


def test_an_unknown_pass_gets_the_nearest_name_or_the_list():
    assert refusal("mege") == ("recipe.yaml:7:5: there is no pass 'mege'; did you mean merge?")
    said = refusal("zzz")
    assert f"passes at hand: {', '.join(registry.pass_names())}" in said


def test_a_name_offered_twice_names_both_packages(install):
    install("nursery-one", "nursery_one", PASS, prune="Prune")
    install("nursery-two", "nursery_two", PASS, prune="Prune")
    assert refusal("prune") == (
        "recipe.yaml:7:5: nursery-one and nursery-two both offer a pass 'prune'; "
        "remove one of the two packages"
    )
    assert registry.pass_summary("prune") == (
        "offered by nursery-one and by nursery-two: remove one of them"
    )


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("import no_such_thing", "cannot be loaded: ModuleNotFoundError: No module named"),
        ("raise ValueError('dry\\nsoil')", "cannot be loaded: ValueError: dry;"),
        ("def (", "cannot be loaded: SyntaxError"),
        ("x = 1", "cannot be loaded: AttributeError"),
        ("Prune = 3", "is no class derived from preprocess.engine.contract.Params"),
        (PASS.replace("    api: ClassVar = 1\n", ""), "does not state its version of passes"),
        (PASS.replace("api: ClassVar = 1", "api: ClassVar = 99"), "is written for version 99 of passes; this evenmark runs version 1"),  # noqa: E501
        (PASS.replace("contract: ClassVar = C", "other: ClassVar = C"), "states no contract"),
        (PASS.replace('"prune"', '"trim"'), "has another name in its class: 'trim'"),
    ],
)  # fmt: skip
def test_a_broken_package_matters_only_to_who_names_it(install, source, said):
    install("nursery", "nursery_prune", source, prune="Prune")
    assert "prune" in registry.pass_names()
    assert isinstance(registry.pass_summary("prune"), str)
    found = refusal("prune")
    assert found.startswith("recipe.yaml:7:5: the pass 'prune' of nursery ")
    assert said in found
    assert "\n" not in found


def test_a_fact_of_our_own_is_given_by_no_built_in_pass():
    assert registry.passes_giving(Fact("nursery.watered", "all is watered", lambda *_: True)) == ()


def test_lines_become_areas_by_strokes_to_areas():
    assert registry.passes_giving(FILLED) == ("strokes-to-areas",)
