"""Files and streams of the commands: `-` is standard input or output."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.cli import show
from preprocess.errors import Place, Refusal, wrong
from preprocess.loading.yaml.text_files import decode_text, read_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from preprocess.pipeline import Conversion
    from preprocess.recipe.load import LoadedRecipe

STREAM = "-"


@dataclass(frozen=True, slots=True)
class DrawingFile:
    """A drawing: its bytes, its name in messages, and its path unless it was piped in."""

    data: bytes
    name: str
    path: Path | None

    @property
    def title(self) -> str:
        """The name without its folder: outputs must not depend on where a run was started."""
        return self.path.name if self.path else self.name

    def beside(self, ending: str) -> str:
        """Default path of an output: beside the drawing, or standard output."""
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


def read_recipe(recipe: str) -> str:
    """The text of a recipe, from a file or from standard input."""
    if recipe == STREAM:
        return decode_text(sys.stdin.buffer.read(), "<standard input>")
    return read_text(Path(recipe))


def load_recipe_and_drawing(
    recipe: str, design: str | None, text: str | None = None
) -> tuple[LoadedRecipe, DrawingFile]:
    """Load a recipe and the drawing that it, or the command, names.

    Raises:
        UserError: every mistake in the recipe, or no drawing is named.
    """
    if recipe == STREAM and design == STREAM:
        raise wrong("recipe and drawing cannot both come from standard input", "name one of them")
    from preprocess.recipe.text_rules import expect_no_columns

    loaded = load_recipe_alone(recipe, design, text)
    if loaded.design is None:
        remedy = "put design: FILE.svg in the recipe, or name the drawing after the recipe"
        raise wrong("the recipe names no design", remedy, place=Place(recipe))
    expect_no_columns(loaded.recipe, recipe)
    return loaded, read_drawing(loaded.design)


def load_recipe_alone(
    recipe: str, design: str | None = None, text: str | None = None
) -> LoadedRecipe:
    """Load a recipe, whatever drawing it names; `text` where it was read before.

    Raises:
        UserError: every mistake in the recipe.
    """
    from preprocess.recipe.load import load_recipe

    path = None if recipe == STREAM else Path(recipe)
    return load_recipe(path, read_recipe(recipe) if text is None else text, design)


def convert_drawing(
    loaded: LoadedRecipe, drawing: DrawingFile, *, strict: bool = False
) -> Conversion:
    """Convert a drawing within the memory that its recipe allows.

    Raises:
        UserError: the drawing, or a pass on it, cannot do what the recipe asks.
    """
    from preprocess.process_limits import convert_within_limits

    return convert_within_limits(loaded, drawing.data, drawing.name, strict=strict)


@contextmanager
def refusal_as_error(path: str = "") -> Iterator[None]:
    """Turn the refusal of a pass or coupon into an error with its file.

    Raises:
        UserError: what was refused, and the remedy.
    """
    try:
        yield
    except Refusal as refusal:
        place = Place(path) if path else None
        raise wrong(refusal.found, refusal.remedy, place=place) from refusal


def write_outputs(
    outputs: Iterable[tuple[str, bytes]], *, as_json: bool, quiet: bool, keep_old: bool = False
) -> None:
    """Write bytes to files, each whole or not at all, or to standard output; say where they are.

    `keep_old` leaves files alone that hold the same bytes already.
    """
    from preprocess.write.atomic import replace_file

    for path, data in outputs:
        if keep_old and holds_bytes(path, data):
            show.tell_unchanged(path, as_json=as_json, quiet=quiet)
            continue
        if path == STREAM:
            sys.stdout.buffer.write(data)
            sys.stdout.buffer.flush()
        else:
            replace_file(Path(path), data)
        show.tell_written(path, as_json=as_json, quiet=quiet)


def holds_bytes(path: str, data: bytes) -> bool:
    """Whether a file holds exactly these bytes."""
    try:
        return path != STREAM and Path(path).read_bytes() == data
    except OSError:
        return False


def refuse_inputs(outputs: Sequence[str], inputs: Iterable[Path | None]) -> None:
    """Refuse to overwrite an input, or to write two outputs into one file.

    Raises:
        UserError: an output is an input, or is named twice.
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
    """A Makefile rule that names every file that was read.

    Each input also gets an empty rule, so that make does not stop when it is renamed.
    """
    names = dict.fromkeys(_escaped(str(path)) for path in inputs if path is not None)
    empty = "".join(f"{name}:\n" for name in names)
    return f"{_escaped(target)}: {' '.join(names)}\n{empty}".encode()


def _escaped(path: str) -> str:
    return path.replace("$", "$$").replace("#", "\\#").replace(" ", "\\ ")
