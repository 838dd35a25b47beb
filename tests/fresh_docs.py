"""Are the generated pages fresh?

``python -m tests.fresh_docs`` exits 1 and names each page that is stale, missing, or of a pass
that is gone; ``--write`` makes them anew.
"""

from __future__ import annotations

import sys
from pathlib import Path

from preprocess.engine import registry
from tests.finding_list import page as findings_page
from tests.long_description import page as long_description
from tests.pass_pictures import pictures
from tests.project_map import page as map_page
from tests.reference_pages import reference_pages

ROOT = Path(__file__).parents[1]


def stale(root: Path) -> dict[str, str | None]:
    """Pages that differ from what they should be; None where there should be none."""
    made = {
        **reference_pages(root),
        **pictures(root),
        "docs/reference/findings.md": findings_page(root),
        "docs/project/map.md": map_page(root),
        "docs/project/description.md": long_description(root),
    }
    found: dict[str, str | None] = {}
    for name, text in made.items():
        path = root / name
        if not path.is_file() or path.read_text("utf-8") != text:
            found[name] = text
    for path in sorted((root / "docs" / "reference" / "passes").rglob("*.*")):
        if path.stem not in registry.pass_names():
            found[path.relative_to(root).as_posix()] = None
    return found


def write(root: Path) -> None:
    """Make all pages fresh."""
    for name, text in stale(root).items():
        path = root / name
        if text is None:
            path.unlink()
        else:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, "utf-8")


def main(arguments: list[str]) -> int:
    """Check or write; says which pages are stale."""
    if arguments == ["--write"]:
        write(ROOT)
        return 0
    names = stale(ROOT)
    for name in names:
        print(f"{name} is not fresh; run: python -m tests.fresh_docs --write", file=sys.stderr)
    return 1 if names else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
