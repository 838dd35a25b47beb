"""Packages of other people, as an installer would leave them: a module and its entry points."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

PASS = '''
from dataclasses import dataclass
from typing import Annotated, ClassVar
from preprocess.model.declared import Doc
from preprocess.engine.facts import FILLED
from preprocess.model.artwork.source import Selection
from preprocess.engine.contract import Contract, Params
from preprocess.units import Length

@dataclass(frozen=True, slots=True, kw_only=True)
class Prune(Params):
    """Cut twigs back.

    Twigs are lines that end in nothing.
    """

    name: ClassVar = "prune"
    api: ClassVar = 1
    contract: ClassVar = Contract(keeps=frozenset({FILLED}))

    to: Annotated[Length, Doc("how long they stay")]
    away_from: Annotated[Selection | None, Doc("never near these")] = None
'''


def offer(folder: Path, package: str, module: str, source: str, **passes: str) -> Path:
    """Install a package that offers passes: name (with _ for -) to class."""
    site = folder / package
    info = site / f"{package.replace('-', '_')}-1.0.dist-info"
    info.mkdir(parents=True)
    (site / f"{module}.py").write_text(source, "utf-8")
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {package}\nVersion: 1.0\n")
    lines = [f"{name.replace('_', '-')} = {module}:{cls}" for name, cls in passes.items()]
    (info / "entry_points.txt").write_text("\n".join(["[preprocess.passes]", *lines, ""]))
    return site
