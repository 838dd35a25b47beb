"""Interface that a series asks of a record; the record itself is handed in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.pipeline import Conversion
    from preprocess.recipe.load import LoadedRecipe


class Recorder(Protocol):
    """Makes the entry of a conversion, in a worker; it opens no file and can be pickled."""

    def __call__(
        self, result: Conversion, loaded: LoadedRecipe, design: bytes, names: tuple[str, str], /
    ) -> tuple[Conversion, object]:
        """The conversion with what the record says of its drawing, and its own entry.

        `names` are those of the drawing and of the written SVG.
        """


class Record(Protocol):
    """A folder of entries."""

    def recorder(self, design: bytes, /) -> Recorder:
        """Maker of the entries of a drawing."""

    def holds(self, recorded: str, /) -> bool:
        """Test whether an entry of this name lies in the folder; false for an empty name."""

    def write(self, made: Mapping[int, object], /) -> dict[int, str]:
        """Write the entries of designs in their order; returns their names.

        Raises:
            UserError: the folder cannot be written to.
        """
