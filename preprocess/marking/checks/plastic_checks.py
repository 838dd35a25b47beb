"""Plastics that must not be marked, those that give off more than others, and those unknown here.

Each list is read off the words of the polymer and of every name that the spool has. Trade names
say nothing here, so these lists find only what is written plainly; a safety data sheet decides.
"""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING

from preprocess.findings import Finding, note, stop, warn
from preprocess.marking.solver.thermal_medium import USUAL_POLYMER, known_polymer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.filament import Filament

_OF_THE_MODEL = {
    "conductivity": "conductivity",
    "density": "density",
    "heat_capacity": "heat capacity",
}
"""Figures that the polymer gives where the filament does not."""

_HARMLESS_VINYL = (
    r"acetat|acetal|alcohol|alkohol|benz|butyral|ester|ether|fluorid|formal|idene?\W*fluorid"
    "|pyr|silan|silic|silox|toluen"
)
"""Words that follow vinyl in the names of polymers without chlorine."""

_CHLORINATED = re.compile(
    rf"pvd?c|vinyl(?!\W*(?:{_HARMLESS_VINYL}))"
    r"|chlor(?:inated|ine|id|opren|osul|otri|iert|ur)|clorur|пвх|e?ctfe"
)
_FLUORINATED_WORDS = frozenset(
    {"ptfe", "eptfe", "pvdf", "pvf", "fep", "etfe", "pfa", "fkm", "ffkm", "fpm", "thv"}
)
_FLUORINATED = re.compile(
    r"fluor(?:inated|ide|id$|opoly|oelast|oplast|ocarb|iert|oethyl)|[rti]fluor"
)
_RETARDED = re.compile(
    r"(?<![a-z])fr(?![a-z])|(?<![a-z0-9])v[- ]?0(?![0-9.,])|(?<![a-z])ul[- ]?94|5v[ab](?![a-z])"
    r"|(?:flame|fire)[- ]?(?:retard|resist|proof)|self[- ]?exting|brom(?:inated|ine|id|iert)"
)
_FREE = re.compile(
    r"[^\W\d_]+(?:-free|-frei)\b|(?:chlor|brom|fluor)[a-z]*free|(?:non|un)-?chlor\w*"
)


def plastic_findings(bench: Bench) -> tuple[Finding, ...]:
    """A stop for chlorinated plastic, warnings for others that are worse than usual or unknown."""
    names = _names(bench)
    chlorinated = [name for name in names if is_chlorinated(name)]
    if chlorinated:
        return (_chlorinated(chlorinated[0]),)
    found = [_fluorinated(name) for name in names if is_fluorinated(name)][:1]
    found += [_retarded(name) for name in names if is_flame_retardant(name)][:1]
    return (*found, *_computed_as(bench.filament))


def is_chlorinated(name: str) -> bool:
    """Test whether a name says PVC, vinyl or another plastic that holds chlorine."""
    plain = _plain(name)
    initials = re.sub(r"\b(\w)\W+(?=\w\b)", r"\1", plain)  # P.V.C.
    return bool(_CHLORINATED.search(plain) or _CHLORINATED.search(initials))


def is_fluorinated(name: str) -> bool:
    """Test whether a name says PTFE, PVDF or another plastic that holds fluorine."""
    words = re.findall(r"[^\W\d_]+", _plain(name))
    return any(word in _FLUORINATED_WORDS or _FLUORINATED.search(word) for word in words)


def is_flame_retardant(name: str) -> bool:
    """Test whether a name says that additives, often brominated ones, retard flames."""
    return bool(_RETARDED.search(_plain(name)))


def _plain(name: str) -> str:
    """Small letters of one width, without invisible characters and words such as PVC-free."""
    shown = "".join(
        c for c in unicodedata.normalize("NFKC", name) if unicodedata.category(c) != "Cf"
    )
    return _FREE.sub(" ", re.sub(r"[\u2010-\u2015]", "-", shown.casefold()).replace("_", " "))


def _names(bench: Bench) -> tuple[str, ...]:
    filament = bench.filament
    named: list[str | None] = [part.filament for part in bench.parts]
    if filament is not None:
        graded = filament.tried.filament if filament.tried else None
        named = [filament.polymer, filament.name, graded, *named]
    return tuple(dict.fromkeys(name for name in named if name))


def _chlorinated(name: str) -> Finding:
    return stop(
        "chlorinated-plastic",
        f"{name!r} names a chlorinated plastic: heated, it gives off hydrogen chloride, which "
        "attacks lungs, eyes and machine",
        "never mark it; take a plastic that you know, and name it under filament: if this is one",
    )


def _fluorinated(name: str) -> Finding:
    return warn(
        "fluorinated-plastic",
        f"{name!r} names a fluorinated plastic: heated too much, it gives off hydrogen fluoride "
        "and other poisonous fumes",
        "do not mark it unless its maker, its safety data sheet and your extraction allow it",
    )


def _retarded(name: str) -> Finding:
    return warn(
        "flame-retardant-plastic",
        f"{name!r} names a flame-retardant plastic: heated, additives with bromine or phosphorus "
        "give off poisonous and corrosive fumes",
        "do not mark it unless its maker, its safety data sheet and your extraction allow it",
    )


def _computed_as(filament: Filament | None) -> Iterator[Finding]:
    """Figures of the usual polymer that stand in for those of one that is unknown or unnamed."""
    if filament is None or known_polymer(filament.polymer):
        return
    missing = ", ".join(t for key, t in _OF_THE_MODEL.items() if getattr(filament, key) is None)
    if not missing:
        return
    if filament.polymer is None:
        message = f"polymer of {filament.name!r} not named: heat is computed as of {USUAL_POLYMER}"
        yield note("polymer-not-named", message, "name the polymer of the filament")
        return
    yield warn(
        "unknown-polymer",
        f"the polymer {filament.polymer!r} is not known here: heat is computed as of "
        f"{USUAL_POLYMER} ({missing})",
        f"give the filament its {missing}, and know its fumes before you mark it",
    )
