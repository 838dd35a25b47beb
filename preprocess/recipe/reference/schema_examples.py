"""Examples for keys whose type alone shows none: names, selectors, files, whole entries."""

from __future__ import annotations

from typing import Any

_FRONDS = {"label": "Fronds"}
_LAYER = {"name": "fronds", "operation": "engrave", "choose": _FRONDS}

EXAMPLES: dict[str, Any] = {
    **dict.fromkeys(("only", "except", "choose"), _FRONDS),
    "areas": {"select": ".hole"},
    "within": {"select": "#label-edge"},
    "label": "Fronds",
    "colour": "#d06000",
    "select": ".helper",
    "page_colour": "#ffffff",
    "outline": "#label-edge",
    "polymer": "PETG",
    "folder": "fonts",
    "substitute": "sans-serif",
    "element": "#plant-name",
    "value": "North bed",
    "column": "plant",
    "before": "No. ",
    "unit": "kHz",
    "words": ["fine", "coarse"],
    "palette": ["#112233", "#0072b2"],
    "extends": "base.yaml",
    "design": "fern-label.svg",
    "part": {"outline": "#label-edge", "thickness": "3 mm"},
    "keep_off": ["#clip-left"],
    "layers": [_LAYER],
    "settings": {"engrave": {"power": "30 %", "speed": "900 mm/s", "pitch": "0.1 mm"}},
    "fonts": {"folder": "fonts"},
    "text": [{"element": "#plant-name", "column": "plant"}],
    "names_from": "plant",
    "colours": {"fronds-1": "#0072b2"},
    "passes": ["merge", {"inset-tips": {"narrower_than": "0.4 mm", "by": "0.05 mm"}}],
}
"""By the name of the key, wherever it stands."""

OF_CLASS: dict[tuple[str, str], Any] = {
    ("Recipe", "machine"): "bench.yaml",
    ("Recipe", "filament"): "moss-petg.yaml",
    ("Machine", "name"): "bench galvo",
    ("Machine", "extra_settings"): {"frequency": {"type": "number", "unit": "kHz"}},
    ("Filament", "name"): "moss-green PETG, spool 3",
    ("Filament", "machine"): "bench galvo",
    ("Filament", "extra_settings"): {"frequency": "30 kHz"},
    ("Part", "model"): "label.3mf",
    ("Part", "body"): "plate",
    ("Part", "unit"): "mm",
    ("Part", "guides"): "#part-guides",
    ("Part", "place"): {"outline": "#label-edge"},
    ("PartPlace", "outline"): "#label-edge",
    ("Part", "filament"): "moss-green PETG, spool 3",
    ("Tried", "filament"): "moss-green PETG, spool 3",
    ("LayerRule", "name"): "fronds",
    ("LayerRule", "settings"): {"power": "25 %"},
    ("ScoreEdges", "settings"): {"power": "25 %"},
}
"""Of keys that mean something else in another mapping; these come first."""


_KINDS = {
    "array": list,
    "boolean": bool,
    "integer": int,
    "number": int | float,
    "object": dict,
    "string": str,
}


def add_examples(definitions: dict[str, Any]) -> None:
    """Put examples in place of those that types alone give."""
    for title, schema in definitions.items():
        for key, held in schema.get("properties", {}).items():
            found = OF_CLASS.get((title, key), EXAMPLES.get(key))
            if found is not None and _fits(found, held):
                held["examples"] = [found]


def _fits(example: Any, schema: dict[str, Any]) -> bool:
    """Test whether an example is of a kind that the schema takes."""
    kind = schema.get("type")
    return kind is None or isinstance(example, _KINDS.get(kind, object))
