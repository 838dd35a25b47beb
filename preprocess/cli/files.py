"""Files and streams of the commands: `-` is standard input or output."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.cli import session, show, waiting
from preprocess.errors import Place, Refusal, wrong
from preprocess.loading.yaml.text_files import MOST_BYTES, decode_text, read_text, relative_path
from preprocess.model.options.limits import DrawingLimits
from preprocess.read.xml.drawing_bytes import expect_text, read_at_most, read_drawing_bytes

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

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
        """The name without its folder: outputs must not depend on where a run was started.

        Raises:
            UserError: it is no text, so no output can hold it.
        """
        return expect_text(self.path) if self.path else self.name

    def beside(self, ending: str) -> str:
        """Default path of an output: beside the drawing, or standard output."""
        if self.path is None:
            return STREAM
        return usual_name(self.path, ending)


def usual_name(path: Path, ending: str) -> str:
    """Name of a product that belongs to a drawing, or to a laser-ready SVG, beside it."""
    return str(path.with_name(f"{path.stem.removesuffix('.laser')}.{ending}"))


def read_drawing(path: str | Path, limits: DrawingLimits | None = None) -> DrawingFile:
    """Read a drawing from a file or from standard input, no more of it than is allowed.

    Raises:
        UserError: the file is missing, is a folder, is too large, or cannot be read.
    """
    most = (limits or DrawingLimits()).file
    if str(path) == STREAM:
        name = "standard input"
        return DrawingFile(read_at_most(sys.stdin.buffer, most, name), name, None)
    path = Path(path)
    return DrawingFile(read_drawing_bytes(path, most), str(path), path)


def read_recipe(recipe: str) -> str:
    """The text of a recipe, from a file or from standard input."""
    if recipe == STREAM:
        data = sys.stdin.buffer.read(MOST_BYTES + 1)
        if len(data) > MOST_BYTES:
            raise wrong("the recipe is over 1 MB", "send the file that was meant")
        return decode_text(data, "<standard input>")
    return read_text(Path(recipe))


def load_recipe_alone(recipe: str, changes: Sequence[str] = ()) -> LoadedRecipe:
    """Load a recipe, whatever drawing it names, with values that the command sets.

    Raises:
        UserError: every mistake in the recipe.
    """
    from preprocess.recipe.load import load_recipe

    path = None if recipe == STREAM else Path(recipe)
    return load_recipe(path, read_recipe(recipe), None, changes)


def convert_drawing(
    loaded: LoadedRecipe, drawing: DrawingFile, *, strict: bool = False, quiet: bool = False
) -> Conversion:
    """Convert a drawing within the memory that its recipe allows, showing how far it is.

    Raises:
        UserError: the drawing, or a pass on it, cannot do what the recipe asks.
    """
    from preprocess.process_limits import convert_within_limits

    steps = [1 + waiting.SIMULATION * step.params.simulations() for step in loaded.steps]
    with waiting.progress_in_slots([1, *steps, 1], "steps", quiet=quiet) as done:
        return convert_within_limits(loaded, drawing.data, drawing.name, strict=strict, tell=done)


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


def write_outputs(outputs: Sequence[tuple[str, bytes]], *, as_json: bool, quiet: bool) -> None:
    """Write bytes to files, all of them or none, or to standard output; say where they are.

    The first is the one that the others speak of.

    Raises:
        UserError: one of them cannot be written; the old files are as they were.
    """
    write_all(outputs)
    tell_all([path for path, _ in outputs], as_json=as_json, quiet=quiet)


def write_all(outputs: Sequence[tuple[str, bytes]], *, keep_old: bool = False) -> list[str]:
    """Write bytes to files, all of them or none, or to standard output; returns those left alone.

    `keep_old` leaves files alone that hold the same bytes already.

    Raises:
        UserError: one of them cannot be written; the old files are as they were.
    """
    from preprocess.write.atomic import staged_files

    kept = [path for path, data in outputs if keep_old and holds_bytes(path, data)]
    files = [(Path(path), data) for path, data in outputs if path not in {STREAM, *kept}]
    with staged_files(files) as put_in_place:
        for path, data in outputs:
            if path == STREAM:
                show.print_bytes(data)
        put_in_place()
    session.remember_written(str(path) for path, _ in files)
    return kept


def tell_all(
    paths: Sequence[str], kept: Sequence[str] = (), *, as_json: bool = False, quiet: bool = False
) -> None:
    """Say where outputs are, and which of them are as they were."""
    for path in paths:
        tell = show.tell_unchanged if path in kept else show.tell_written
        tell(path, as_json=as_json, quiet=quiet)


def holds_bytes(path: str, data: bytes) -> bool:
    """Test whether a file holds exactly these bytes."""
    try:
        if path == STREAM or Path(path).stat().st_size != len(data):
            return False
        return Path(path).read_bytes() == data
    except OSError:
        return False


def check_outputs(outputs: Sequence[str], inputs: Iterable[Path | None]) -> None:
    """Refuse, before any work, outputs that cannot be written; empty names are not wanted.

    Raises:
        UserError: no such folder, no right to write, an output is an input or is named twice.
    """
    from preprocess.write.targets import check_targets

    if outputs.count(STREAM) > 1:
        raise wrong("two outputs cannot both go to standard output", "name a file for one of them")
    paths = [Path(output) for output in outputs if output not in {"", STREAM}]
    check_targets(paths, [path for path in inputs if path is not None])


def keep_grades(written: Mapping[Path, bytes], remedy: str) -> None:
    """Refuse to overwrite a grade table that holds anything else: grades are in it.

    Raises:
        UserError: there is such a table.
    """
    from preprocess.coupon.paper.file_names import TABLE_SUFFIX

    for path, data in written.items():
        table = path.name.endswith(TABLE_SUFFIX)
        if table and path.exists() and not holds_bytes(str(path), data):
            raise wrong("this grade table exists already", remedy, place=Place(str(path)))


def seen_from(holder: str, path: str | Path | None) -> str | None:
    """Path of a file as seen from the one that names it; the same on every machine.

    None for what came, or goes, through a pipe.
    """
    if path is None or str(path) == STREAM:
        return None
    folder = Path() if holder == STREAM else Path(holder).parent
    return relative_path(Path(path), folder)
