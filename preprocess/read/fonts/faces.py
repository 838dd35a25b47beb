"""Font files and the faces in them: names, weight, slant, width."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    import uharfbuzz as hb

Range = tuple[float, float]

_ENDINGS = frozenset({".ttf", ".otf", ".ttc", ".otc", ".woff", ".woff2"})
_FAMILY, _FULL, _POSTSCRIPT, _TYPOGRAPHIC = 1, 4, 6, 16
_PACKED = frozenset({b"wOFF", b"wOF2"})


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """One face of a font file; names in lower case, weight and width as the range it covers.

    `label` is the full name for messages. `axes` are the tags of what can be varied. A face that
    the drawing carries has its `data` in place of a path.
    """

    path: Path | None
    index: int
    label: str
    families: frozenset[str]
    full_names: frozenset[str]
    weight: Range
    width: Range
    slanted: bool
    axes: frozenset[str]
    data: bytes | None = None


def font_files(folder: Path) -> Iterator[Path]:
    """Font files below a folder, sorted by path."""
    found = []
    for where, _, names in os.walk(folder):
        found += [Path(where, name) for name in names if Path(name).suffix.lower() in _ENDINGS]
    return iter(sorted(found, key=lambda path: path.relative_to(folder).as_posix()))


def installed_folders() -> list[Path]:
    """Folders of installed fonts on this operating system."""
    home = Path.home()
    if sys.platform == "win32":
        windows, local = os.environ.get("WINDIR", "C:/Windows"), os.environ.get("LOCALAPPDATA")
        own = [Path(local, "Microsoft/Windows/Fonts")] if local else []
        return [Path(windows, "Fonts"), *own]
    if sys.platform == "darwin":
        roots = (Path("/System/Library/Fonts"), Path("/Library/Fonts"), home / "Library/Fonts")
        return list(roots)
    roots = (Path("/usr/share/fonts"), Path("/usr/local/share/fonts"))
    return [*roots, home / ".local/share/fonts", home / ".fonts"]


def font_faces(path: Path | None, data: bytes | None = None) -> list[Face]:
    """The faces of a font file, or of a font that a drawing carries; none when it is damaged."""
    import uharfbuzz as hb

    try:
        blob = blob_of(path, data)
        first = hb.Face(blob, 0)
        if not first.glyph_count:
            return []
        count = max(int(first.count), 1)
        faces = [first, *(hb.Face(blob, index) for index in range(1, count))]
    except (OSError, ValueError, hb.HarfBuzzError):
        return []
    found = [_face(path, data, index, face) for index, face in enumerate(faces)]
    return [face for face in found if face is not None]


def blob_of(path: Path | None, data: bytes | None) -> hb.Blob:
    """The bytes of a font, unpacked where they are packed for the web.

    Raises:
        OSError: the file cannot be read.
        ValueError: the font is damaged.
    """
    import uharfbuzz as hb

    if data is not None:
        return hb.Blob(_unpacked(BytesIO(data)) if data[:4] in _PACKED else data)
    if path is not None and path.suffix.lower() in {".woff", ".woff2"}:
        return hb.Blob(_unpacked(path))
    return hb.Blob.from_file_path(str(path))


def _unpacked(font_file: Path | BytesIO) -> bytes:
    from fontTools.ttLib import TTFont, TTLibError

    out = BytesIO()
    try:
        with TTFont(font_file, recalcTimestamp=False) as font:
            font.flavor = None
            font.save(out, reorderTables=False)
    except (TTLibError, ImportError, AssertionError, KeyError) as error:
        raise ValueError(str(error)) from error
    return out.getvalue()


def _face(path: Path | None, data: bytes | None, index: int, face: hb.Face) -> Face | None:
    import uharfbuzz as hb

    names: dict[int, list[str]] = {}
    for entry in face.list_names():
        if int(entry.name_id) in {_FAMILY, _FULL, _POSTSCRIPT, _TYPOGRAPHIC}:
            held = face.get_name(entry.name_id, entry.language)
            names.setdefault(int(entry.name_id), []).extend([held] if held else [])
    families = [*names.get(_TYPOGRAPHIC, ()), *names.get(_FAMILY, ())]
    if not families and data is None:
        return None
    full = [*names.get(_FULL, ()), *names.get(_POSTSCRIPT, ())]
    font = hb.Font(face)
    axes = {axis.tag: axis for axis in face.axis_infos}
    weight, width = (
        font.get_style_value(hb.StyleTag.WEIGHT),
        font.get_style_value(hb.StyleTag.WIDTH),
    )
    return Face(
        path=path,
        data=data,
        index=index,
        label=[*full, *families, "a font in the drawing"][0],
        families=frozenset(name.casefold() for name in families),
        full_names=frozenset(name.casefold() for name in full),
        weight=_range(axes.get("wght"), weight),
        width=_range(axes.get("wdth"), width),
        slanted=font.get_style_value(hb.StyleTag.ITALIC) > 0
        or font.get_style_value(hb.StyleTag.SLANT_ANGLE) != 0,
        axes=frozenset(axes),
    )


def _range(axis: hb.OTVarAxisInfo | None, value: float) -> Range:
    return (axis.min_value, axis.max_value) if axis else (value, value)
