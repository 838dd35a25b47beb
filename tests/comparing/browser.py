"""The browser: one headless Chromium for many files, without soft edges, over a white page."""

from __future__ import annotations

import base64
import io
import math
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image
from playwright.sync_api import sync_playwright

from tests.comparing.flat import NOT_WHITE, marked

if TYPE_CHECKING:
    import numpy as np

OPTIONS = (
    "--no-sandbox",
    "--disable-gpu",
    "--hide-scrollbars",
    "--disable-lcd-text",
    "--font-render-hinting=none",
    "--force-color-profile=srgb",
)
CRISP = """() => {
    const sheet = new CSSStyleSheet();
    sheet.replaceSync('* { shape-rendering: crispEdges !important }');
    document.adoptedStyleSheets = [sheet];
    const style = getComputedStyle(document.documentElement);
    return [parseFloat(style.width), parseFloat(style.height)];
}"""
PATIENCE_MS = 30_000


class Browser:
    """Draws files and texts; a pixel is marked when it is at least so dark."""

    def __init__(self, program: str, dark: float = NOT_WHITE) -> None:
        self._dark = dark
        self._driver = sync_playwright().start()
        self._process = self._driver.chromium.launch(executable_path=program, args=list(OPTIONS))
        context = self._process.new_context()
        context.set_offline(True)
        self._page = context.new_page()
        self._page.set_default_timeout(PATIENCE_MS)
        self._wire = context.new_cdp_session(self._page)
        self._folder = Path(tempfile.mkdtemp(prefix="compared-"))

    def size(self, path: Path, expected: tuple[float, float]) -> tuple[float, float]:
        """The size in px that the browser gives the drawing in a window of the expected size."""
        return self._opened(path, expected, 1.0)

    def file(self, path: Path, natural: tuple[float, float], zoom: float) -> np.ndarray:
        self._opened(path, natural, zoom)
        shot = self._wire.send("Page.captureScreenshot", {"format": "png"})
        image = Image.open(io.BytesIO(base64.b64decode(shot["data"])))
        width, height = (max(1, round(side * zoom)) for side in natural)
        return marked(image.crop((0, 0, width, height)), self._dark)

    def text(self, svg: str) -> np.ndarray:
        path = self._folder / "ours.svg"
        path.write_text(svg, "utf-8")
        size = self._opened(path, (1000, 1000), 1.0)
        return self.file(path, size, 1.0)

    def close(self) -> None:
        self._process.close()
        self._driver.stop()
        shutil.rmtree(self._folder)

    def _opened(self, path: Path, window: tuple[float, float], zoom: float) -> tuple[float, float]:
        width, height = (max(1, math.ceil(side)) for side in window)
        self._wire.send(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": height, "deviceScaleFactor": zoom, "mobile": False},
        )
        self._page.goto(path.resolve().as_uri())
        return tuple(self._page.evaluate(CRISP))
