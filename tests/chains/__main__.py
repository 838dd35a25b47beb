"""Carry out random legal chains of all passes on random drawings, and judge what they write.

    python -m tests.chains N SEED [--clipart FOLDER] [--log FILE] [--keep FOLDER] [--only NUMBER]

Some of the drawings are of the folder, if one is given; all others are random labels. Each chain
gets overlay, sheet and report, some a prediction of heat. A step that refuses its work is taken
out, and the rest carried out. Figures are judged by GEOS on the written file, pictures by resvg.
Chain NUMBER is always the same for a seed. A log that is there already is gone on with. What fails
is kept with its recipe.
"""

from __future__ import annotations

import argparse
import json
import sys
import warnings
from collections import Counter
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

from preprocess.preview.overlay import difference, overlay
from preprocess.preview.sheet import overlay_view
from tests.chains.runs import random_chain, run, without_refused
from tests.finding_list import findings

ROOT = Path(__file__).parents[2]
MOST_REFUSALS = 4
"""Steps that are taken out of a chain, one after another, if they refuse their work."""

LARGEST = 25_000
"""Bytes of a drawing of the folder: larger ones take too long for so many chains."""

BAD = ("broken", "wrong", "slow")


class Compared:
    """Compares two artworks once for overlay and sheet, which ask for the same."""

    def __init__(self) -> None:
        self._asked: tuple[object, ...] = ()
        self._found: Any = None

    def __call__(self, before: object, after: object, **more: object) -> Any:
        asked = (before, after, *more.values())
        if [id(one) for one in asked] != [id(one) for one in self._asked]:
            self._asked, self._found = asked, difference.compare_artworks(before, after, **more)
        return self._found


def main(arguments: list[str]) -> int:
    """Run, log each chain on a line, and print the sums."""
    args = _asked(arguments)
    warnings.simplefilter("error")
    overlay.compare_artworks = overlay_view.compare_artworks = Compared()
    paths = sorted(args.clipart.rglob("*.svg")) if args.clipart else []
    clipart = [path for path in paths if path.stat().st_size <= LARGEST]
    codes = frozenset(one.code for one in findings(ROOT))
    lines = args.log.read_text("utf-8").splitlines() if args.log and args.log.exists() else []
    done = [json.loads(line) for line in lines]
    numbers = range(len(done), args.count) if args.only is None else [args.only]
    for number in numbers:
        name = f"{args.seed}-{number}"
        drawn, steps, heat = random_chain(name, clipart)
        verdict, refusals = run(name, drawn, steps, codes, heat=heat), []
        while verdict.how == "refused" and not verdict.wrong and len(refusals) < MOST_REFUSALS:
            shorter = without_refused(steps, verdict.said)
            if shorter in (steps, []):
                break
            refusals.append(verdict.said)
            verdict = run(name, drawn, steps := shorter, codes, heat=heat)
        done.append({"passes": verdict.passes, "refusals": refusals, **vars(verdict)})
        del done[-1]["steps"]
        if args.log:
            with args.log.open("a", encoding="utf-8") as file:
                file.write(json.dumps(done[-1]) + "\n")
        if verdict.how in BAD or verdict.wrong:
            print(f"{name}: {verdict.how}: {'; '.join(verdict.wrong[:4])}", flush=True)
            if args.keep:
                _keep(args.keep / name, drawn.svg, {"recipe": 1, **drawn.recipe, "passes": steps})
    _sum_up(done)
    return int(any(one["how"] in BAD or one["wrong"] for one in done))


def _asked(arguments: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("count", type=int)
    parser.add_argument("seed", type=int)
    parser.add_argument("--clipart", type=Path)
    parser.add_argument("--log", type=Path)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--only", type=int)
    return parser.parse_args(arguments)


def _keep(folder: Path, svg: bytes, recipe: dict) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "in.svg").write_bytes(svg)
    with (folder / "recipe.yaml").open("w", encoding="utf-8") as file:
        YAML().dump(recipe, file)


def _sum_up(done: list[dict]) -> None:
    hows = Counter(one["how"] for one in done)
    print(f"{len(done)} chains: " + ", ".join(f"{n} {how}" for how, n in sorted(hows.items())))
    print(
        f"{sum(len(one['refusals']) for one in done)} steps refused their work and were taken out"
    )
    print(f"{sum(one['pictured'] for one in done)} compared as pictures")
    lengths = Counter(len(one["passes"]) for one in done)
    print("passes in a chain:", ", ".join(f"{k}: {lengths[k]}" for k in sorted(lengths)))
    written = Counter(name for one in done if one["how"] == "written" for name in one["passes"])
    print("steps of written chains:", ", ".join(f"{k} {n}" for k, n in sorted(written.items())))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
