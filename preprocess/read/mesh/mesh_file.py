"""Model files that a recipe names: STL or 3MF, told apart by their first bytes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.loading.yaml.text_files import why_unread
from preprocess.read.mesh.mesh_data import MOST_MODEL_BYTES, Mesh, model_error
from preprocess.read.mesh.stl import read_stl
from preprocess.read.mesh.threemf import read_threemf

if TYPE_CHECKING:
    from pathlib import Path

_ZIP = b"PK"
_OTHERS = {
    b"ISO-10303": "a STEP file",
    b"glTF": "a glTF file",
    b"ply": "a PLY file",
    b"<?xml": "an XML file",
    b"<svg": "a drawing",
    b"%PDF": "a PDF",
    b"\x1f\x8b": "a packed file (gzip)",
    b"DRACO": "a packed mesh",
}
"""First bytes of files that a person may take for a model, and what they are."""


def read_mesh_file(path: Path) -> Mesh:
    """The mesh of a model file.

    Raises:
        UserError: the file is missing or too large, neither STL nor 3MF, or damaged.
    """
    try:
        with path.open("rb") as file:
            data = file.read(MOST_MODEL_BYTES + 1)
    except (OSError, ValueError) as error:
        raise model_error(str(path), *why_unread(path, error, "model")) from None
    if len(data) > MOST_MODEL_BYTES:
        found = f"the model has more than {MOST_MODEL_BYTES // 2**20} MiB"
        raise model_error(str(path), found, "export it coarser, or as binary STL")
    return read_mesh(data, str(path))


def read_mesh(data: bytes, name: str) -> Mesh:
    """The mesh that the bytes of a model file hold; `name` is what messages call it.

    Raises:
        UserError: neither STL nor 3MF, or damaged.
    """
    for start, what in _OTHERS.items():
        if data[:200].lstrip()[: len(start)] == start:
            remedy = "export the part as STL or 3MF"
            raise model_error(name, f"the file is {what}, neither STL nor 3MF", remedy)
    return read_threemf(data, name) if data.startswith(_ZIP) else read_stl(data, name)
