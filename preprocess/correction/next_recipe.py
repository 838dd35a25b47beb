"""The next recipe: the same with other powers written out, or with another spread to solve for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from preprocess.errors import wrong
from preprocess.loading.yaml.yaml_text import yaml_text
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

_SETS_POWERS = "tag-power", "interleave"
_SOLVES = "solve-power"


def next_recipe(text_data: Mapping[str, Any], shares: Sequence[float], head: str) -> bytes:
    """A recipe with other powers for its levels or rounds, and one correction more.

    Args:
        text_data: the recipe as it stands, plain data.
        shares: power of each level or colour as a share of the layer's power, in their order.
        head: comment above it, without `#`.

    Raises:
        UserError: not exactly one step sets powers, so it is unclear whose they are.
    """
    steps = [_as_pair(step) for step in text_data.get("passes", [])]
    setting = [number for number, (name, _) in enumerate(steps) if name in _SETS_POWERS]
    if len(setting) != 1:
        found = "no step sets powers" if not setting else f"{len(setting)} steps set powers"
        raise wrong(
            f"{found} of levels or rounds, so no recipe can be written",
            "type the powers of the table into the laser software",
        )
    number = setting[0]
    name, held = steps[number]
    steps[number] = (
        name,
        {**held, "powers": [f"{digits(round(100 * share, 2))} %" for share in shares]},
    )
    passes = [{n: h} if h else n for n, h in steps if n != _SOLVES]
    return _written({**_counted(text_data), "passes": passes}, head)


def next_solved(
    text_data: Mapping[str, Any],
    filament: Mapping[str, Any],
    spread: tuple[float, tuple[float, float]],
    names: tuple[str, str],
) -> tuple[bytes, bytes | None]:
    """The recipe with another spread of its filament, and the filament's file if it names one.

    Args:
        text_data: the recipe as it stands, plain data.
        filament: the filament that it names or holds, plain data.
        spread: what it is to be solved for, and the interval that holds it, mm.
        names: of the filament's new file, and the comment above both, without `#`.
    """
    file, head = names
    at, ends = spread
    sure = {**filament.get("intervals", {}), "spread": [f"{digits(end, 3)} mm" for end in ends]}
    data = {**filament, "spread": f"{digits(at)} mm", "intervals": sure}
    if isinstance(text_data.get("filament"), str):
        return _written({**_counted(text_data), "filament": file}, head), _written(data, head)
    return _written({**_counted(text_data), "filament": data}, head), None


def _counted(text_data: Mapping[str, Any]) -> dict[str, Any]:
    """The recipe with one correction more."""
    return {**text_data, "corrections": int(text_data.get("corrections", 0)) + 1}


def _written(data: dict[str, Any], head: str) -> bytes:
    comment = "".join(f"# {line}\n" for line in head.splitlines())
    return (comment + yaml_text(data)).encode()


def _as_pair(step: Any) -> tuple[str, dict[str, Any]]:
    """Name and parameters of a step."""
    if isinstance(step, str):
        return step, {}
    ((name, held),) = step.items()
    return str(name), dict(held or {})
