"""Measure two ways of the same thing in one run, and print how they compare."""

import time
from dataclasses import dataclass

from preprocess.process_limits import collect_garbage_rarely


@dataclass(frozen=True)
class Line:
    """One comparison: seconds of ours and of the baseline, and what was seen of the result.

    `factor` is how many times faster than the baseline ours should be.
    """

    kernel: str
    art: str
    ours: float
    baseline: str
    theirs: float
    factor: float
    seen: str = ""

    def text(self):
        ratio = self.theirs / self.ours
        verdict = "yes" if ratio >= self.factor else "NO"
        return (
            f"{self.kernel:<11} {self.art:<26} {self.ours:>8.3f} {self.baseline:<28} "
            f"{self.theirs:>9.3f} {ratio:>9.2f} {self.factor:>8.2f} {verdict:>4}  {self.seen}"
        )


HEAD = (
    f"{'kernel':<11} {'art':<26} {'ours s':>8} {'baseline':<28} "
    f"{'theirs s':>9} {'faster by':>9} {'wanted':>8} {'':>4}  result"
)


def seconds(call, repeats=1):
    """Least processor time of a few calls, and the result; other processes count little.

    Cycles are sought seldom, as convert() does.
    """
    best = float("inf")
    for _ in range(repeats):
        with collect_garbage_rarely():
            begin = time.process_time()
            result = call()
            best = min(best, time.process_time() - begin)
    return best, result
