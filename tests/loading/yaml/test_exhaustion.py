"""Files made to exhaust whoever reads them; each in a process that is ended when it hangs."""

import subprocess
import sys
from pathlib import Path

import pytest

from preprocess.errors import UserError
from preprocess.recipe.load import load_recipe

GUARDED = """
import sys
from preprocess.errors import UserError
from preprocess.loading.yaml.document import parse_yaml
try:
    parse_yaml(eval(sys.argv[1]), "label.yaml")
except UserError as error:
    print(error)
"""

ALIASES = """'b0: &b0 [x]\\n' + ''.join(
    f"b{i}: &b{i} [{', '.join([f'*b{i - 1}'] * 9)}]\\n" for i in range(1, 9)
)"""

BOMBS = {
    "brackets": ("'a: ' + '[' * 400_000", "nested too deeply"),
    "braces": ("'a: ' + '[{' * 200_000", "nested too deeply"),
    "closed": ("'a: ' + '[' * 3000 + ']' * 3000", "nested too deeply"),
    "dashes": ("'a:\\n' + '- ' * 9000 + 'x'", "nested too deeply"),
    "questions": ("'? ' * 9000", "nested too deeply"),
    "aliases": (ALIASES, "aliases and brackets go too deep"),
    "itself": ("'a: &a [*a]'", "an alias (*name) holds itself"),
}


@pytest.mark.parametrize("name", BOMBS)
def test_each_ends_in_a_sentence(name):
    code, words = BOMBS[name]
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", GUARDED, code],
        capture_output=True,
        text=True,
        timeout=20,
        check=False,
    )
    assert words in done.stdout, done.stderr[-500:]
    assert not done.stderr


@pytest.mark.parametrize("number", ["9" * 400, "-" + "9" * 400, "0x" + "f" * 6000, "9" * 6000])
def test_whole_numbers_beyond_all_measure_are_refused_by_name(number):
    with pytest.raises(UserError, match=r"label\.yaml:2:23: max_layers is"):
        load_recipe(Path("label.yaml"), f"recipe: 1\nmachine: {{max_layers: {number}}}\n")


@pytest.mark.parametrize("name", ["a" * 5000, "a\\0b", "\\uFEFF"])
@pytest.mark.parametrize("key", ["machine: ", "filament: ", "fonts: {folder: "])
def test_names_that_no_file_can_have(key, name):
    text = f'recipe: 1\n{key}"{name}"{"}" * key.count("{")}\n'
    with pytest.raises(UserError, match=r"label\.yaml:2:\d+: .*there is no such"):
        load_recipe(Path("label.yaml"), text)
