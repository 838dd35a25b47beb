"""Files and streams of the commands: `-` is standard input or output."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.errors import Place, wrong
from preprocess.loading.yaml.text_files import decode_text, read_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from preprocess.recipe.load import LoadedRecipe

STREAM = "-"


@dataclass(frozen=True, slots=True)
class DrawingFile:
    """A drawing that was read: its bytes, what to call it, and its path unless it was piped in."""

    data: bytes
    name: str
    path: Path | None

    @property
    def title(self) -> str:
        """The name without its folder: outputs must not depend on where a run was started."""
        return self.path.name if self.path else self.name

    def beside(self, ending: str) -> str:
        """Where an output goes when nobody said: beside the drawing, or to standard output."""
        if self.path is None:
            return STREAM
        return str(self.path.with_name(f"{self.path.stem}.{ending}"))


def read_drawing(path: str | Path) -> DrawingFile:
    """Read a drawing from a file or from standard input.

    Raises:
        UserError: the file is missing, is a folder, or cannot be read.
    """
    if str(path) == STREAM:
        return DrawingFile(sys.stdin.buffer.read(), "standard input", None)
    path = Path(path)
    try:
        return DrawingFile(path.read_bytes(), str(path), path)
    except OSError as error:
        found = f"the drawing cannot be read ({error.strerror})"
        raise wrong(found, "check the path", place=Place(str(path))) from error


def load_recipe_and_drawing(recipe: str, design: str | None) -> tuple[LoadedRecipe, DrawingFile]:
    """Load a recipe and the drawing that it, or the command, names.

    Raises:
        UserError: all that is wrong with the recipe, or there is no drawing.
    """
    return load_text_recipe_drawing(recipe, design)[1:]


def load_text_recipe_drawing(
    recipe: str, design: str | None
) -> tuple[str, LoadedRecipe, DrawingFile]:
    """As `load`, with the text of the recipe before it."""
    from preprocess.recipe.load import load_recipe
    from preprocess.recipe.text_rules import expect_no_columns

    if recipe == STREAM and design == STREAM:
        raise wrong("recipe and drawing cannot both come from standard input", "name one of them")
    piped = recipe == STREAM
    text = (
        decode_text(sys.stdin.buffer.read(), "<standard input>")
        if piped
        else read_text(Path(recipe))
    )
    loaded = load_recipe(None if piped else Path(recipe), text, design)
    if loaded.design is None:
        remedy = "put design: FILE.svg in the recipe, or name the drawing after the recipe"
        raise wrong("the recipe names no design", remedy, place=Place(recipe))
    expect_no_columns(loaded.recipe, recipe)
    return text, loaded, read_drawing(loaded.design)


def load_recipe_alone(recipe: str) -> LoadedRecipe:
    """Load a recipe, whatever drawing it names.

    Raises:
        UserError: all that is wrong with the recipe.
    """
    from preprocess.recipe.load import load_recipe

    if recipe == STREAM:
        return load_recipe(None, decode_text(sys.stdin.buffer.read(), "<standard input>"))
    return load_recipe(Path(recipe))


def write_output(path: str, data: bytes) -> None:
    """Put bytes to a file, whole or not at all, or to standard output."""
    from preprocess.write.atomic import replace_file

    if path == STREAM:
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
    else:
        replace_file(Path(path), data)


def holds_bytes(path: str, data: bytes) -> bool:
    """Whether a file holds just these bytes already."""
    try:
        return path != STREAM and Path(path).read_bytes() == data
    except OSError:
        return False


def refuse_inputs(outputs: Sequence[str], inputs: Iterable[Path | None]) -> None:
    """Refuse to write over what was read, or to write two outputs into one file.

    Raises:
        UserError: an output is one of the inputs, or named twice.
    """
    from preprocess.write.atomic import refuse_same

    known = [path for path in inputs if path is not None]
    for output in outputs:
        if output != STREAM:
            refuse_same(Path(output), *known)
    resolved = [output if output == STREAM else str(Path(output).resolve()) for output in outputs]
    for output, path in zip(outputs, resolved, strict=True):
        if resolved.count(path) > 1:
            raise wrong(f"{output} would be written twice", "give each output a name of its own")


def makefile_rule(target: str, inputs: Iterable[Path | None]) -> bytes:
    """A Makefile rule that names everything that was read.

    Each input gets an empty rule too, so that make does not stop when one was renamed.
    """
    names = dict.fromkeys(_escaped(str(path)) for path in inputs if path is not None)
    empty = "".join(f"{name}:\n" for name in names)
    return f"{_escaped(target)}: {' '.join(names)}\n{empty}".encode()


def _escaped(path: str) -> str:
    return path.replace("$", "$$").replace("#", "\\#").replace(" ", "\\ ")
