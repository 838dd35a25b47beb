"""The benchmarks, each in a process of its own, so that none feels what another left behind.

    python -m tests.benchmarks                    all of them; a good half hour on two idle cores
    python -m tests.benchmarks kernels crafts     some of them

docs/project/benchmarks.md tells what they showed. Times differ from machine to machine; ratios do
much less.
"""

import subprocess
import sys

ALL = (
    "startup",
    "stages",
    "kernels",
    "crafts",
    "hairlines",
    "heat",
    "reading",
    "scaling",
    "crowds",
    "throughput",
)


def main(names: list[str]) -> int:
    strange = sorted(set(names) - set(ALL))
    if strange:
        print(f"no benchmark is called {', '.join(strange)}; there are {', '.join(ALL)}")
        return 2
    failed = 0
    for name in names or ALL:
        print(f"\n== {name}", flush=True)
        call = [sys.executable, "-m", f"tests.benchmarks.{name}"]
        failed += bool(subprocess.run(call, check=False).returncode)
    return min(failed, 1)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
