"""The list of guards fits the source; whether tests notice them is asked by running the list."""

from tests.mutants_of_guards import ROOT, guards, without


def test_every_guard_stands_in_the_source_exactly_once() -> None:
    for guard in guards():
        source = (ROOT / guard.file).read_text("utf-8")
        compile(without(guard, source), guard.file, "exec")


def test_every_guard_has_tests_and_a_name_of_its_own() -> None:
    names = [(guard.file, guard.name) for guard in guards()]
    assert len(set(names)) == len(names) >= 40
    assert all((ROOT / test).exists() for guard in guards() for test in guard.tests)
