"""Run and check damaged drawings as a person would: one sentence or whole outputs, every time.

usage: python -m tests.fuzz_files FOLDER INPUTS SEED [--keep OUT] [--log FILE]

Drawings are damaged as in tests/fuzz_read.py, and a third of them is given to `check`, the others
to `run` with a report, half of these with overlay and sheet too, within the process, by the
function behind the command.
It has to leave with 0 or 1. With 1 it says what was found and what to do, and every output of the
run before is untouched; with 0 the files belong together, and areas and lengths of the written
file, measured by GEOS, are those of the report. The same folder and seed give the same inputs; a
log that is there already is gone on with.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import random
import re
import sys
import tempfile
import warnings
from collections import Counter
from pathlib import Path

from preprocess.cli.app import main as evenmark
from tests.chains.judge import judge
from tests.finding_list import findings
from tests.fuzz_read import mutated
from tests.processor_time import TooLongError, at_most

ROOT = Path(__file__).parents[1]
MOST_S = 30
LARGEST = 12_000
OUTPUTS = {"-o": "l.svg", "--report": "r.json", "--overlay": "o.svg", "--sheet": "s.html"}
FEW = 2
"""So many outputs are asked for at least."""

ODD_NUMBER = re.compile(r"\bnan\b|\binf\b|\d[eE][+-]\d+|\bNone\b")
BENCH = """recipe: 1
design: in.svg
machine: {name: nursery bench, field: [250 mm, 250 mm], spot: 0.06 mm, turnaround: 1.2 ms}
settings:
  engrave: {power: 50 %, speed: 900 mm/s, pitch: 0.2 mm}
  score: {power: 30 %, speed: 250 mm/s}
"""
CHAINS = (
    "[]",
    "[strokes-to-areas, merge]",
    "[strokes-to-areas, merge, inset-tips: {narrower_than: 0.4 mm}]",
    "[join-overlaps, drop-duplicates, simplify]",
    "[strokes-to-areas, split, order-shapes]",
    "[strokes-to-areas, compensate-spot: {by: 0.03 mm}, score-hairlines]",
    "[place: {width: 40 mm, centre_on: page}, strokes-to-areas, hatch]",
    "[strokes-to-areas, merge, tag-power: {levels: 2, powers: [100 %, 80 %]}]",
)
GOOD = b"""<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">
<path id="leaf" d="M4 10 Q20 1 36 10 Q20 19 4 10Z"/></svg>"""


def command(*arguments: str) -> tuple[int | str, str]:
    """What it leaves with, and all that it says."""
    said = io.StringIO()
    sys.argv = ["evenmark", *arguments]
    try:
        with at_most(MOST_S), contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            evenmark()
    except SystemExit as left:
        return int(left.code or 0), said.getvalue()
    except TooLongError:
        return f"over {MOST_S} s", said.getvalue()
    return "did not leave", said.getvalue()


def contents() -> dict[str, bytes]:
    """All files of the current folder but what was put there to be read."""
    return {p.name: p.read_bytes() for p in Path().iterdir() if p.suffix not in {".yaml", ".log"}}


def tried(data: bytes, chain: str, codes: frozenset[str], outputs: int) -> tuple[str, str]:
    """What became of one drawing, given to `check` or to `run`, and what is wrong, if anything."""
    Path("in.svg").write_bytes(data)
    Path("r.yaml").write_text(BENCH + f"passes: {chain}\n", "utf-8")
    before = contents()
    if not outputs:
        code, said = command("check", "r.yaml", "--no-heat")
    else:
        places = [word for pair in list(OUTPUTS.items())[:outputs] for word in pair]
        code, said = command("run", "r.yaml", "--no-heat", "--json", *places)
    if code not in (0, 1):
        return "broken", f"left with {code}: {said[-600:]}"
    if "Traceback" in said or "Warning" in said:
        return "broken", said[-600:]
    after = contents()
    if code == 1 or not outputs:
        if after != before:
            changed = sorted(k for k in {*before, *after} if before.get(k) != after.get(k))
            return "broken", f"files changed: {changed}"
        return ("checked" if code == 0 else "refused"), "" if code == 0 else _worded(said, data)
    if set(after) != {"in.svg", *OUTPUTS.values()}:
        return "broken", f"files: {sorted(after)}"
    still = [name for name in OUTPUTS.values() if before.get(name) == after[name]]
    if set(still) < set(list(OUTPUTS.values())[outputs:]):
        return "broken", f"files changed that were not asked for; the same are {still}"
    report = json.loads(after["r.json"])
    sheet = after["s.html"] if outputs > FEW else report["output"]["sha256"].encode() + b"</html>\n"
    wrong = list(judge(after["l.svg"], report, sheet, codes, [], []))
    return "written", "; ".join([one for one in wrong if not _quotes(one, data)][:4])


def _quotes(words: str, data: bytes) -> bool:
    """Whether an odd number in a message stands in the damaged drawing already."""
    odd = ODD_NUMBER.findall(words)
    return bool(odd) and all(one.encode() in data for one in odd)


def _worded(said: str, data: bytes) -> str:
    """Empty if the answer is a sentence with a remedy."""
    lines = [line for line in said.splitlines() if line.strip()]
    stops = [json.loads(line) for line in lines if line.startswith("{")]
    stops = [one for one in stops if "error" in one.values() or "stop" in one.values()]
    plain = [line for line in lines if line.startswith(("error", "stop"))]
    if not stops and not plain:
        return f"no sentence: {said[-300:]}"
    bare = [one for one in stops if not one.get("remedy")]
    bare += [line for line in plain if "; " not in line]
    odd = [line for line in lines if ODD_NUMBER.search(line) and not _quotes(line, data)]
    return f"poor words: {(bare + odd)[0]}" if bare or odd else ""


def main(arguments: list[str]) -> int:
    """Try all, log each on a line, and print the sums."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("inputs", type=int)
    parser.add_argument("seed", type=int)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--log", type=Path)
    args = parser.parse_args(arguments)
    warnings.simplefilter("error")
    files = [p.read_bytes() for p in sorted(args.folder.rglob("*.svg"))]
    files = [data for data in files if len(data) <= LARGEST]
    codes = frozenset(one.code for one in findings(ROOT))
    log = args.log.resolve() if args.log else None
    keep = args.keep.resolve() if args.keep else None
    done = [json.loads(line) for line in log.open()] if log and log.exists() else []
    with tempfile.TemporaryDirectory() as name, contextlib.chdir(name):
        tried(GOOD, "[merge]", codes, len(OUTPUTS))
        for number in range(len(done), args.inputs):
            chance = random.Random(f"{args.seed}-{number}")
            data = mutated(chance, chance.choice(files), chance.choice(files))
            chain, outputs = chance.choice(CHAINS), chance.choice((0, FEW, len(OUTPUTS)))
            how, wrong = tried(data, chain, codes, outputs)
            done.append({"number": number, "how": how, "wrong": wrong})
            if log:
                with log.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(done[-1]) + os.linesep)
            if wrong:
                print(f"{number} {how} {chain}: {wrong}", flush=True)
                if keep:
                    keep.mkdir(parents=True, exist_ok=True)
                    (keep / f"{number}.svg").write_bytes(data)
                    (keep / f"{number}.yaml").write_text(BENCH + f"passes: {chain}\n", "utf-8")
    hows = Counter("failed" if one["wrong"] else one["how"] for one in done)
    print(f"{len(done)} damaged drawings, seed {args.seed}: {dict(sorted(hows.items()))}")
    return int(any(one["wrong"] for one in done))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
