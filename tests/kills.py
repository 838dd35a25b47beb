"""Kills `run` with five outputs at random moments: are its files ever torn, or of two runs?

``python -m tests.kills [HOW MANY] [SEED]`` prints one line of JSON.
"""

from __future__ import annotations

import hashlib
import json
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

RECIPE = """recipe: 1
design: fern.svg
settings: {{engrave: {{power: {power} %, speed: 900 mm/s, pitch: 0.1 mm}}}}
passes: [merge, inset-tips: {{narrower_than: 0.4 mm, by: 0.05 mm}}]
"""
LEAF = """<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">
<path id="leaf" d="M4 10 Q20 {bend} 36 10 Q20 19 4 10Z"/>
</svg>
"""
OUTPUTS = {
    "--out": "l.svg",
    "--overlay": "o.svg",
    "--sheet": "s.html",
    "--report": "r.json",
    "--depfile": "d.mk",
}
ENDS = {"l.svg": b"</svg>\n", "o.svg": b"</svg>\n", "s.html": b"</html>\n", "r.json": b"}\n"}


def prepare(folder: Path, number: int) -> None:
    """Another drawing each time, so that each output differs from the last."""
    (folder / "fern.svg").write_text(LEAF.format(bend=1 + number / 100), "utf-8")
    (folder / "fern.yaml").write_text(RECIPE.format(power=20 + number % 51), "utf-8")


def begin(folder: Path) -> tuple[int, int]:
    """A child that runs the whole command, and a pipe that ends with it and all it started.

    The libraries are loaded already.
    """
    reading, writing = os.pipe()
    child = os.fork()
    if child:
        os.close(writing)
    else:
        os.chdir(folder)
        options = [word for pair in OUTPUTS.items() for word in pair]
        sys.argv = ["evenmark", "run", "fern.yaml", "--no-heat", "--quiet", *options]
        code = 3
        try:
            from preprocess.cli.app import main

            main()
        except SystemExit as left:
            code = int(left.code or 0)
        finally:
            os._exit(code)
    return child, reading


def await_end(child: int, reading: int) -> int:
    """Wait for the child, and for who renames on its behalf; its exit status."""
    os.read(reading, 1)
    os.close(reading)
    return os.waitpid(child, 0)[1]


def contents(folder: Path) -> dict[str, bytes]:
    """The outputs that lie there."""
    names = [name for name in OUTPUTS.values() if (folder / name).exists()]
    return {name: (folder / name).read_bytes() for name in names}


def state(folder: Path, old: dict[str, bytes]) -> str:
    """Old, new, mixed or torn."""
    found = contents(folder)
    if found == old:
        return "old"
    if any(not found.get(name, b"").endswith(end) for name, end in ENDS.items()):
        return "torn"
    digest = hashlib.sha256(found["l.svg"]).hexdigest()
    told = json.loads(found["r.json"])["output"]["sha256"]
    sheet = digest.encode() in found["s.html"]
    fresh = all(found[name] != old.get(name) for name in ENDS)
    return "new" if told == digest and sheet and fresh else "mixed"


def whole_run(folder: Path) -> float:
    """Seconds from fork to end of a run that nobody kills."""
    start = time.monotonic()
    status = await_end(*begin(folder))
    assert status == 0, status
    return time.monotonic() - start


def await_writing(folder: Path, child: int) -> None:
    """Return as soon as a file is being written aside, or the child has ended."""
    while not any(name.endswith(".part") for name in os.listdir(folder)):  # noqa: PTH208 - quick
        if os.waitid(os.P_PID, child, os.WEXITED | os.WNOHANG | os.WNOWAIT):
            return


def kill_often(folder: Path, times: int, seed: int) -> Counter[str]:
    """How often the files were old, new, mixed and torn.

    Every other time it is killed within 30 ms of the moment when it begins to write.
    """
    chance = random.Random(seed)
    prepare(folder, 0)
    whole_run(folder)
    lasts = whole_run(folder)
    found: Counter[str] = Counter()
    hidden = {".part", ".old"}
    beside = 0
    for number in range(1, times + 1):
        old = contents(folder)
        prepare(folder, number)
        child, reading = begin(folder)
        if number % 2:
            time.sleep(chance.uniform(0.0, 1.3 * lasts))
        else:
            await_writing(folder, child)
            time.sleep(chance.uniform(0.0, 0.03))
        os.kill(child, signal.SIGKILL)
        await_end(child, reading)
        found[state(folder, old)] += 1
        left = [path for path in folder.iterdir() if path.suffix in hidden]
        beside += bool(left)
        for path in left:
            path.unlink()
    return found + Counter({"left beside": beside})


def main() -> None:
    import preprocess.cli.app
    import preprocess.pipeline
    import preprocess.preview.overlay.overlay
    import preprocess.preview.sheet.job_sheet  # noqa: F401 - each child finds them loaded

    times, seed = (int(word) for word in (*sys.argv[1:3], *("200", "1")[len(sys.argv) - 1 :]))
    with tempfile.TemporaryDirectory() as name:
        print(json.dumps(kill_often(Path(name), times, seed)))


if __name__ == "__main__":
    main()
