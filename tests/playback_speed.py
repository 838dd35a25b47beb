"""How fast the page of a job plays, in Chromium: pictures, pace, and answers to a press.

    python -m tests.playback_speed            # all
    python -m tests.playback_speed dots       # one

The page holds itself to 30 pictures a second. A picture is both sides, whole and close-up, with all
figures. An answer is told and drawn when the next frame begins. Sizes and times are of this machine
in this hour; no test asserts them.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from preprocess.pipeline import convert, predict_both
from preprocess.playback.page.page import playback_page
from preprocess.recipe.load import load_recipe
from tests.browser import DESK, PHONE, chromium

JOBS = Path(__file__).parents[1] / "fixtures" / "jobs"
SECONDS = 4
PLACES = ((0.31, 0.42), (0.5, 0.5), (0.72, 0.61), (0.64, 0.33), (0.42, 0.7))
"""Where the whole picture is pressed, as shares of its width and height."""

WATCH = """() => {
    globalThis.took = [];
    document.addEventListener('picture', (event) => took.push([performance.now(), event.detail]));
}"""
PRESS = """([x, y]) => new Promise((done) => {
    const canvas = document.querySelector('.stage'), box = canvas.getBoundingClientRect();
    const at = { clientX: box.left + x * box.width, clientY: box.top + y * box.height };
    const begun = performance.now();
    canvas.dispatchEvent(new MouseEvent('click', { bubbles: true, ...at }));
    requestAnimationFrame(() => done(performance.now() - begun));
})"""


def dots(folder: Path) -> Path:
    """A recipe for 63 by 63 dots of 1 mm: 40 000 runs as drawn, each dot by itself."""
    middles = [3 + 1.5 * n for n in range(63)]
    drawn = "".join(f'<circle cx="{x}" cy="{y}" r="0.5"/>' for y in middles for x in middles)
    size = 'width="99mm" height="99mm" viewBox="0 0 99 99"'
    folder.joinpath("dots.svg").write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}><rect id="edge" width="99" height="99" '
        f'fill="none"/><g id="dots">{drawn}</g></svg>',
        "utf-8",
    )
    bench = JOBS.joinpath("fern", "bench.yaml").read_text("utf-8")
    folder.joinpath("bench.yaml").write_text(
        bench.replace("field: [130 mm, 90 mm]", "field: [130 mm, 110 mm]"), "utf-8"
    )
    recipe = folder / "dots.yaml"
    recipe.write_text(
        "recipe: 1\ndesign: dots.svg\nmachine: bench.yaml\n"
        f"filament: {JOBS / 'fern' / 'moss-petg.yaml'}\n"
        'part: {outline: "#edge", thickness: 3 mm}\n'
        'layers:\n  - {name: dots, operation: engrave, choose: {select: "#dots"}}\n'
        "settings:\n  engrave: {power: 60 %, speed: 900 mm/s, pitch: 0.1 mm, direction: two-way}\n"
        "passes:\n  - merge\n",
        "utf-8",
    )
    return recipe


def page_of(recipe: Path) -> bytes:
    """The page of a recipe's own design."""
    loaded = load_recipe(recipe)
    result = convert(loaded, loaded.design.read_bytes(), loaded.design.name)
    predicted = predict_both(result)
    begun = time.process_time()
    made = playback_page(result, predicted, loaded.design.name)
    print(f"{recipe.stem}: {len(made) / 1000:.0f} kB, made in {time.process_time() - begun:.1f} s")
    return made


def measure(browser, path: Path, size: tuple[int, int]) -> str:
    """One line of figures."""
    with browser.page(path, size) as page:
        page.wait_for_selector("html[data-ready]")
        page.evaluate(WATCH)
        session = page.context.new_cdp_session(page)
        session.send("Performance.enable", {"timeDomain": "threadTicks"})
        paces = []
        for speed, button in (("1", "#all"), (str(1 / 30), "#local")):
            page.select_option("#speed", speed)
            page.evaluate("took.length = 0")
            before = processor_ms(session)
            page.click(button)
            page.wait_for_timeout(1000 * SECONDS)
            cost = processor_ms(session) - before
            paces.append(pace(page.evaluate("took"), cost))
            if page.inner_text(button) == "Pause":
                page.click(button)
        answers = [answer(page, session, place) for place in PLACES]
    times, costs = zip(*answers, strict=True)
    pressed = (
        f"{min(times):.0f} to {max(times):.0f} ms, {min(costs):.0f} to {max(costs):.0f} of work"
    )
    return f"{'; '.join(paces)}; pressed {pressed}"


def processor_ms(session) -> float:
    """Processor time of the page's thread, ms: other processes count little in it."""
    metrics = session.send("Performance.getMetrics")["metrics"]
    return 1000 * next(one["value"] for one in metrics if one["name"] == "TaskDuration")


def pace(took: list[tuple[float, float]], cost: float) -> str:
    """Pictures a second from the first to the last, median ms of one, and ms of work for one."""
    moments, waits = zip(*took, strict=True)
    rate = 1000 * (len(took) - 1) / (moments[-1] - moments[0] or 1)
    return f"{rate:.1f}/s, {median(waits):.1f} ms, {cost / len(took):.1f} of work"


def answer(page, session, place: tuple[float, float]) -> tuple[float, float]:
    """From a press to the frame that answers it, and the work for it, ms."""
    before = processor_ms(session)
    lasted = page.evaluate(PRESS, place)
    return lasted, processor_ms(session) - before


def main(names: list[str]) -> None:
    """Measure the jobs that are named, or all."""
    with tempfile.TemporaryDirectory() as folder, chromium() as browser:
        recipes = {
            "fern": JOBS / "fern" / "fern.yaml",
            "moth": JOBS / "moth" / "moth-together.yaml",
            "dots": dots(Path(folder)),
        }
        for name in names or recipes:
            path = Path(folder) / f"{name}.html"
            path.write_bytes(page_of(recipes[name]))
            for size in (DESK, PHONE):
                print(f"{name} at {size[0]} px: {measure(browser, path, size)}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
