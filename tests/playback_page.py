"""The scripts of the playback in a browser, without the page around them."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

from preprocess.playback.block.playback import packed, playback_of
from preprocess.playback.scripts.joined import joined_scripts
from tests.browser import DESK, chromium

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.browser import Browser

PAGE = """<!doctype html><meta charset="utf-8"><title>scripts</title><script type="module">
{scripts}
globalThis.load = async (head, data) => {{
  const facts = await opened(head), bytes = await inflate(data);
  const sides = facts.sides.map((one) => side(one, bytes, facts.heat));
  globalThis.job = {{ facts, sides, M: medium(facts.heat) }};
}};
Object.assign(globalThis, {{ rises, warmthAt, peakAt, visitsAt, beamAt, place, along }});
Object.assign(globalThis, {{ past, field }});
</script>"""

SCRIPTS = "beam", "job", "heat", "glow"


@contextmanager
def opened_scripts(folder: Path, beside: Browser | None = None) -> Iterator:
    """A page with the scripts; `load_job` gives it a job."""
    path = folder / "scripts.html"
    path.write_text(PAGE.format(scripts=joined_scripts(*SCRIPTS)), "utf-8")
    with chromium(beside=beside) as browser, browser.page(path, DESK) as page:
        page.wait_for_function("() => globalThis.load")
        yield page
        assert browser.complaints == []
        assert browser.asked_for == [path.resolve().as_uri()]


def load_job(page, job) -> dict:
    """Open a conversion and its predictions in the page; the head of the block."""
    playback = playback_of(*job)
    page.evaluate("([head, data]) => load(head, data)", list(packed(playback)))
    return playback.head
