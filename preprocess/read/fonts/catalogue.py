"""Font catalogue: fonts in the drawing, in the recipe's folder, then installed ones."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.read.fonts.embedded import embedded_faces
from preprocess.read.fonts.faces import Face, font_faces, font_files, installed_folders
from preprocess.read.fonts.look_alikes import families_of_same_widths, families_of_similar_name
from preprocess.read.fonts.matching import (
    GENERIC_ALIASES,
    GENERIC_FAMILIES,
    FontRequest,
    best_face,
    families_alike,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from cssselect2 import ElementWrapper

    from preprocess.model.options.fonts import Fonts
    from preprocess.read.fonts.font import Font

FacesByName = dict[str, list["Face"]]
Names = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FaceChoice:
    """The faces for a style, best first, and the missing families of its list.

    `asked` is how many of the faces the drawing asks for; the rest is the recipe's substitute.
    `alike` are those that stand in for a missing family of the same widths, by its name.
    """

    faces: tuple[Face, ...]
    asked: int
    missing: tuple[str, ...]
    alike: tuple[tuple[Face, str], ...] = ()

    def stands_for(self, face: Face) -> str | None:
        """The missing family that a face of the same widths stands in for."""
        return next((name for one, name in self.alike if one is face), None)


@dataclass
class FontCatalogue:
    """Finds faces; one per drawing. It opens no font before the first request."""

    fonts: Fonts
    root: ElementWrapper | None = None
    unreadable: list[Path] = field(default_factory=list)
    _chosen: dict[FontRequest, FaceChoice] = field(default_factory=dict)
    _fonts: dict[tuple[Face, float, float, bool], Font] = field(default_factory=dict)
    _alike: dict[str, tuple[Names, Names]] = field(default_factory=dict)

    def choose(self, want: FontRequest) -> FaceChoice:
        """The faces that a style may take its letters from."""
        if want not in self._chosen:
            self._chosen[want] = self._choice(want)
        return self._chosen[want]

    def _choice(self, want: FontRequest) -> FaceChoice:
        found = [(name, self._family(name, want)) for name in want.families]
        alike: list[tuple[Face, str]] = []
        if self.fonts.alike:
            for number, (name, face) in enumerate(found):
                other = self._first(families_of_same_widths(name), want) if face is None else None
                if other is not None:
                    found[number] = name, other
                    alike.append((other, name))
        asked = [face for _, face in found if face is not None]
        missing = tuple(name for name, face in found if face is None)
        spare = self._family(self.fonts.substitute, want) if self.fonts.substitute else None
        return FaceChoice((*asked, *([spare] if spare else ())), len(asked), missing, tuple(alike))

    def look_alikes(self, name: str) -> tuple[Names, Names]:
        """Families at hand for a missing one: of the same widths, and of a similar name."""
        if name not in self._alike:
            known = {*self._carried, *self._own, *self._installed}
            widths = families_of_same_widths(name)
            same = tuple(one for one in widths if self._named(one.casefold()))
            self._alike[name] = same, families_of_similar_name(name, known)
        return self._alike[name]

    def font(self, face: Face, want: FontRequest) -> Font:
        """A face made ready, at the weight, width and slant that are wanted if it can be varied."""
        from preprocess.read.fonts.font import Font

        varied = (want.weight, want.width, want.slanted) if face.axes else (0.0, 0.0, False)
        key = (face, *varied)
        if key not in self._fonts:
            self._fonts[key] = Font(face, want)
        return self._fonts[key]

    @property
    def used(self) -> tuple[Path, ...]:
        """The files that letters were taken from."""
        return tuple(sorted({face.path for face, *_ in self._fonts if face.path is not None}))

    def _family(self, name: str, want: FontRequest) -> Face | None:
        low = name.casefold()
        stand_ins = GENERIC_FAMILIES.get(GENERIC_ALIASES.get(low, low), ())
        face = self._first((name, *stand_ins), want)
        if face is None and stand_ins:
            face = self._first(families_alike(low, self._installed), want)
        return face

    def _first(self, names: Iterable[str], want: FontRequest) -> Face | None:
        faces = (best_face(self._named(name.casefold()), want) for name in names)
        return next((face for face in faces if face is not None), None)

    def _named(self, name: str) -> Sequence[Face]:
        """The faces of a family: the drawing's own, else the folder's, else installed ones."""
        return self._carried.get(name) or self._own.get(name) or self._installed.get(name) or ()

    @cached_property
    def _carried(self) -> FacesByName:
        return _index(embedded_faces(self.root)) if self.root is not None else {}

    @cached_property
    def _own(self) -> FacesByName:
        if self.fonts.folder is None:
            return {}
        faces: list[Face] = []
        for path in font_files(Path(self.fonts.folder)):
            held = font_faces(path)
            faces += held
            if not held:
                self.unreadable.append(path)
        return _index(faces)

    @cached_property
    def _installed(self) -> FacesByName:
        if not self.fonts.installed:
            return {}
        files = [path for folder in installed_folders() for path in font_files(folder)]
        return _index(face for path in files for face in font_faces(path))


def _index(faces: Iterable[Face]) -> FacesByName:
    """Faces by family; by full name too, where no family is called so."""
    by_family: FacesByName = {}
    by_full_name: FacesByName = {}
    for face in faces:
        for name in sorted(face.families):
            by_family.setdefault(name, []).append(face)
        for name in sorted(face.full_names):
            by_full_name.setdefault(name, [face])
    return by_full_name | by_family
