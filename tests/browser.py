"""An installed Chromium for tests: pages at a width or on paper, with all that goes wrong in them.

Tests that need it are marked `needs_chromium` and skip, with the reason, where it is missing.
"""

from __future__ import annotations

import importlib.util
import os
import re
import shutil
import subprocess
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

PROGRAMS = ("chromium", "chromium-browser", "google-chrome")
OPTIONS = ("--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--font-render-hinting=none")
PATIENCE_MS = 120_000
"""Long, for machines that do much else; nothing is measured by it."""

PHONE, DESK = (360, 780), (1280, 900)
PX_PER_MM = 96 / 25.4
PAPER = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}


def program() -> str | None:
    """The path of an installed Chromium."""
    return next(filter(None, map(shutil.which, PROGRAMS)), None)


def _missing() -> str:
    if importlib.util.find_spec("playwright") is None:
        return "playwright is not installed: pip install -e '.[test]'"
    return "" if program() else "no Chromium on this machine: apt-get install chromium"


needs_chromium = pytest.mark.skipif(bool(_missing()), reason=_missing() or "Chromium is here")


class Browser:
    """One headless Chromium; `complaints` are messages of the last page."""

    def __init__(self, fonts: Path | None = None, beside: Browser | None = None) -> None:
        from playwright.sync_api import sync_playwright

        self._mine = beside is None
        self._driver = sync_playwright().start() if beside is None else beside._driver
        self._process = self._driver.chromium.launch(
            executable_path=program(),
            args=list(OPTIONS),
            timeout=PATIENCE_MS,
            env=None if fonts is None else {**os.environ, "FONTCONFIG_FILE": str(fonts)},
        )
        self.complaints: list[str] = []
        self.asked_for: list[str] = []

    @contextmanager
    def page(
        self, path: Path | str, size: tuple[int, int], *, script: bool = True, policy: bool = True
    ) -> Iterator:
        """A file without a network, or an address of this machine, in a window of that size in px.

        Without its `policy` a page takes scripts of the test.
        """
        is_file = isinstance(path, Path)
        context = self._process.new_context(
            viewport={"width": size[0], "height": size[1]},
            offline=is_file,
            java_script_enabled=script,
            bypass_csp=not policy,
        )
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        self.complaints, self.asked_for = [], []
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", lambda request: self.asked_for.append(request.url))
        page.goto(path.resolve().as_uri() if is_file else path)
        try:
            yield page
        finally:
            context.close()

    def close(self) -> None:
        self._process.close()
        if self._mine:
            self._driver.stop()


@contextmanager
def chromium(fonts: Path | None = None, beside: Browser | None = None) -> Iterator[Browser]:
    """A browser that is closed afterwards.

    Args:
        fonts: a fontconfig file, to see only the fonts of that.
        beside: another browser that is open, if any: there is one driver for all.
    """
    browser = Browser(fonts, beside)
    try:
        yield browser
    finally:
        browser.close()


def only_fonts(folder: Path, *names: str) -> Path:
    """A fontconfig file by which only fonts of these file names are installed."""
    found = subprocess.run(
        ["fc-list", "--format=%{file}\n"], capture_output=True, text=True, check=True
    ).stdout.split("\n")
    files = [Path(line) for line in found if Path(line).name in names]
    if {file.name for file in files} != set(names):
        pytest.skip(f"not all of {', '.join(names)} are installed")
    (folder / "fonts").mkdir()
    for file in files:
        (folder / "fonts" / file.name).symlink_to(file)
    where = f"<dir>{folder}/fonts</dir><cachedir>{folder}/cache</cachedir>"
    path = folder / "fonts.conf"
    path.write_text(f"<fontconfig>{where}</fontconfig>", "utf-8")
    return path


def printed_pages(page, paper: str) -> int:
    """How many sheets of paper it takes."""
    data = page.pdf(format=paper, prefer_css_page_size=False)
    return len(re.findall(rb"/Type\s*/Page\b", data))


OVERFLOWING = """() => [...document.querySelectorAll('body *')].filter((one) => {
    const box = one.getBoundingClientRect(), style = getComputedStyle(one);
    if (style.position === 'absolute' || box.width === 0 || one.closest('svg') !== null &&
        one.tagName !== 'svg') return false;
    const wide = document.documentElement.clientWidth + 0.5;
    const cut = style.overflow !== 'visible' && one.scrollWidth > one.clientWidth + 1;
    return box.right > wide || box.left < -0.5 || cut;
}).map((one) => `${one.tagName} ${one.className} ${one.textContent.slice(0, 40)}`)"""


def overflowing(page) -> list[str]:
    """Elements that reach beyond the window to the side, or are cut off."""
    return page.evaluate(OVERFLOWING)


CLIPPED_TEXT = """() => [...document.querySelectorAll('svg text')].filter((one) => {
    const box = one.getBoundingClientRect();
    const frame = one.ownerSVGElement.getBoundingClientRect();
    return box.width > 0 && (box.left < frame.left - 0.5 || box.right > frame.right + 0.5 ||
        box.top < frame.top - 1.5 || box.bottom > frame.bottom + 1.5);
}).map((one) => one.textContent)"""


def clipped_text(page) -> list[str]:
    """Texts in pictures that reach beyond their picture."""
    return page.evaluate(CLIPPED_TEXT)


COVERED_TEXT = """() => {
    const found = [];
    for (const svg of document.querySelectorAll('svg')) {
        const boxes = [...svg.querySelectorAll('text')].map((one) =>
            [one.textContent, one.getBoundingClientRect()]).filter((pair) => pair[1].width > 0);
        boxes.forEach(([words, a], index) => {
            for (const [other, b] of boxes.slice(index + 1)) {
                const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
                const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
                if (wide > 0.5 && high > 0.25 * Math.min(a.height, b.height))
                    found.push(`${words} | ${other}`);
            }
        });
    }
    return found;
}"""


def covered_text(page) -> list[str]:
    """Pairs of texts of one picture that lie on one another."""
    return page.evaluate(COVERED_TEXT)


SMALL_TEXT = """(least) => {
    const found = new Set();
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
        const one = node.parentElement, box = one.getBoundingClientRect();
        if (!node.textContent.trim() || box.width === 0 || one.closest('script, title')) continue;
        const svg = one.ownerSVGElement;
        const scale = svg ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1;
        const size = parseFloat(getComputedStyle(one).fontSize) * scale;
        if (size < least) found.add(`${size.toFixed(2)} ${node.textContent.trim().slice(0, 30)}`);
    }
    return [...found];
}"""


def small_text(page, points: float) -> list[str]:
    """Texts that are smaller than so many points as they are shown."""
    return page.evaluate(SMALL_TEXT, points * 96 / 72 - 0.01)


MISSING_GLYPHS = """() => {
    const pen = document.createElement('canvas').getContext('2d', {willReadFrequently: true});
    pen.canvas.width = pen.canvas.height = 40;
    const drawn = (text) => {
        pen.clearRect(0, 0, 40, 40);
        pen.font = `24px ${getComputedStyle(document.body).fontFamily}`;
        pen.fillText(text, 4, 30);
        return pen.getImageData(0, 0, 40, 40).data.join();
    };
    const none = drawn('\\u{10FFFE}');
    const texts = document.body.innerText + [...document.querySelectorAll('svg text')]
        .map((one) => one.textContent).join('');
    return [...new Set(texts)].filter((one) => one.trim() && drawn(one) === none);
}"""


def missing_glyphs(page) -> list[str]:
    """Characters of the page that no font at hand can show: they look like one that none has."""
    return page.evaluate(MISSING_GLYPHS)


def expect_readable(browser: Browser, path: Path, size: tuple[int, int]) -> None:
    """See that all of a page can be read in a window of that size, and that it asks for nothing."""
    with browser.page(path, size) as page:
        assert overflowing(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
        assert clipped_text(page) == []
        assert covered_text(page) == []
        assert missing_glyphs(page) == []
        assert small_text(page, 7) == []
    assert browser.complaints == []
    assert browser.asked_for == [path.resolve().as_uri()]
