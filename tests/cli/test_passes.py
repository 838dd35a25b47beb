"""The listing of passes, one in full, and the schema."""

from __future__ import annotations

import json

import pytest

from preprocess.engine import registry
from preprocess.loading.schema.type_words import accepted_values
from preprocess.loading.schema.value_types import declared_keys
from tests.cli.inside import evenmark
from tests.recipe.plugins import PASS, offer


@pytest.fixture
def command(monkeypatch, capsys):
    def run(*arguments):
        return evenmark(monkeypatch, capsys, *arguments)

    return run


def test_the_list_has_each_pass_with_its_first_sentence(command):
    code, out, err = command("passes")
    assert (code, err) == (0, "")
    for line, name in zip(out.splitlines(), registry.pass_names(), strict=True):
        first = (registry.load_pass(name).__doc__ or "").splitlines()[0]
        assert line.split(maxsplit=1) == [name, first]


@pytest.mark.parametrize("name", registry.pass_names())
def test_a_pass_in_full_tells_every_parameter_and_its_order(command, name):
    code, out, err = command("passes", name)
    assert (code, err) == (0, "")
    cls = registry.load_pass(name)
    for key in declared_keys(cls):
        assert f"  {key.name}: {accepted_values(key)}" in out
        assert key.doc in out
    for fact in cls.contract.needs:
        assert f"Before it: {fact.sentence}." in out
    for fact in cls.contract.gives:
        assert f"After it: {fact.sentence}." in out
    assert f"- {name}" in out
    assert not [line for line in out.splitlines() if line != line.rstrip()]


def test_what_is_looked_up_comes_as_json_too(command):
    listed = [json.loads(line) for line in command("passes", "--json")[1].splitlines()]
    assert [one["name"] for one in listed] == list(registry.pass_names())
    (one,) = (json.loads(line) for line in command("passes", "merge", "--json")[1].splitlines())
    keys = [key.name for key in declared_keys(registry.load_pass("merge"))]
    assert sorted(key["name"] for key in one["parameters"]) == sorted(keys)
    (told,) = command("explain", "too-heavy", "--json")[1].splitlines()
    assert json.loads(told)["code"] == "too-heavy"
    codes = [json.loads(line)["code"] for line in command("explain", "--json")[1].splitlines()]
    assert {"too-heavy", "too-weak"} <= set(codes)


def test_an_unknown_pass_is_refused_with_the_nearest_name(command):
    assert command("passes", "merg") == (
        1,
        "",
        "error: there is no pass 'merg'; did you mean merge?\n",
    )


def test_all_passes_load(command):
    code, out, err = command("passes", "--check")
    assert (code, out) == (0, "")
    assert err == f"all {len(registry.pass_names())} passes load\n"


def test_a_broken_pass_is_told_by_check(command, monkeypatch):
    names = registry.pass_names()
    monkeypatch.setattr(registry, "pass_names", lambda: (*names, "no-such-pass"))
    code, _, err = command("passes", "--check")
    assert code == 1
    assert "no-such-pass" in err


def test_the_schema_knows_passes_and_their_parameters(command):
    code, out, err = command("schema")
    assert (code, err) == (0, "")
    schema = json.loads(out)
    bare, full = schema["$defs"]["Recipe"]["properties"]["passes"]["items"]["anyOf"]
    assert set(full["properties"]) == set(registry.pass_names())
    for name in registry.pass_names():
        reference = full["properties"][name]["$ref"].rpartition("/")[2]
        keys = {key.name for key in declared_keys(registry.load_pass(name))}
        assert set(schema["$defs"][reference]["properties"]) == keys
        required = schema["$defs"][reference].get("required", [])
        assert (name in bare["enum"]) == (not required)


def test_the_schema_runs_no_code_of_other_packages_unless_it_is_named(
    tmp_path, monkeypatch, command
):
    """A plugin that leaves a file when it is imported."""
    ran = tmp_path / "ran"
    source = f"open({str(ran)!r}, 'w').close()\n{PASS}"
    monkeypatch.syspath_prepend(offer(tmp_path, "nursery", "nursery_schema", source, prune="Prune"))
    code, out, _ = command("schema")
    assert (code, "prune" in out, ran.exists()) == (0, False, False)
    assert "equalize-width" in out
    code, out, _ = command("schema", "--with", "prune")
    assert (code, '"prune"' in out, ran.exists()) == (0, True, True)
    code, _, err = command("schema", "--with", "prone")
    assert code == 1
    assert "there is no pass 'prone'; did you mean prune?" in err
