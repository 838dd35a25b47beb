"""Compare what the reader makes of SVG files with what a renderer shows, marked or not.

usage: python tests/compare_render.py FOLDER [--pixels N] [--lines] [--pictures OUT] [--every N]
       [--only PART] [--browser PROGRAM]

Both pictures are drawn by resvg without soft edges over a white page; a pixel counts as marked
when it is not white. With --browser, theirs is a screenshot by a headless Chromium instead, with
soft edges, in which a pixel counts as marked when it is more than a third of the way to dark.
IoU is the share of pixels marked in both among those marked in either; "near" forgives differences
that are one pixel thin. A file agrees when IoU is at least 0.98 (0.985 with --strict), or, for art
of sub-pixel lines, when "near" is at least 0.995. Every disagreement is listed under the findings
that the reader made, "unexplained" when there is none that fits.
"""

from __future__ import annotations

import argparse
import io
import multiprocessing
import subprocess
import sys
import tempfile
import traceback
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import resvg_py
import shapely
from PIL import Image
from scipy import ndimage

from preprocess.errors import UserError
from preprocess.geometry.stroking import outline
from preprocess.model.wanted import Wanted
from preprocess.read.reader import read

PX_PER_MM = 96 / 25.4
THIN = 1.5
EXPLAIN = (
    "text-left-out",
    "image-left-out",
    "foreign-content-left-out",
    "filter-ignored",
    "mask-ignored",
    "gradient-as-solid",
    "pattern-cap",
    "see-through",
    "unknown-element",
    "broken-path",
    "outside-reference",
)


@dataclass
class Result:
    """One file: how well it agrees, and why not."""

    name: str
    verdict: str
    iou: float = 1.0
    near: float = 1.0
    note: str = ""


def compare(path: Path, pixels: int, pictures: Path | None, browser: str | None) -> Result:
    try:
        data = path.read_bytes()
        reading = read(data, path.name, Wanted())
        theirs, natural = _theirs(path, pixels)
        if browser:
            theirs = _screenshot(browser, path, natural, theirs.shape)
    except UserError as error:
        return Result(path.name, "refused", note=str(error)[:100])
    except ValueError as error:
        return Result(path.name, "renderer refuses", note=str(error)[:100])
    except Exception:  # noqa: BLE001 - the script reports every crash
        last = traceback.format_exc().strip().splitlines()
        return Result(path.name, "CRASH", 0.0, 0.0, " | ".join(last[-3:])[:300])
    page = reading.artwork.page
    if max(abs(page.width * PX_PER_MM - natural[0]), abs(page.height * PX_PER_MM - natural[1])) > 1:
        found = f"{page.width * PX_PER_MM:.1f} x {page.height * PX_PER_MM:.1f} against {natural}"
        return Result(path.name, "size", 0.0, 0.0, found)
    ours = _ours(reading.artwork, theirs.shape[::-1], pixels / max(natural))
    iou, near = agreement(ours, theirs)
    if pictures and iou < 0.98:
        _picture(ours, theirs).save(pictures / f"{path.stem}.png")
    codes = {finding.code for finding in reading.findings}
    why = [code for code in EXPLAIN if code in codes]
    return Result(path.name, why[0] if why else "unexplained", iou, near)


def _theirs(path: Path, pixels: int):
    plain = _png(svg_path=str(path))
    zoom = pixels / max(plain.size)
    big = _png(svg_path=str(path), zoom=zoom)
    return _marked(big), plain.size


def _screenshot(browser: str, path: Path, natural, shape):
    with tempfile.TemporaryDirectory() as folder:
        picture = Path(folder) / "shot.png"
        size = f"--window-size={natural[0]},{natural[1]}"
        scale = f"--force-device-scale-factor={shape[1] / natural[0]}"
        options = ["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", size, scale]
        subprocess.run(
            [browser, *options, f"--screenshot={picture}", path.resolve().as_uri()],
            check=True,
            capture_output=True,
            timeout=60,
        )
        image = Image.open(picture).convert("RGB").resize(shape[::-1])
    return (np.asarray(image) < 170).any(axis=2)


def _png(**options) -> Image.Image:
    data = resvg_py.svg_to_bytes(
        **options, dpi=96, background="#ffffff", shape_rendering="crisp_edges", languages=["en"]
    )
    return Image.open(io.BytesIO(bytes(data))).convert("RGB")


def _marked(image: Image.Image):
    return (np.asarray(image) < 254).any(axis=2)


def _ours(artwork, size, zoom: float):
    px = zoom * PX_PER_MM
    paths = [_drawn(shape, px) for shape in artwork.shapes]
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{size[0]}" height="{size[1]}" '
        f'viewBox="0 0 {size[0] / px} {size[1] / px}" preserveAspectRatio="none">'
        + "".join(paths)
        + "</svg>"
    )
    return _marked(_png(svg_string=svg))


def _drawn(shape, px: float) -> str:
    if shape.is_area:
        return f'<path fill-rule="evenodd" d="{_data(shape.geometry)}"/>'
    stroke = shape.stroke
    if stroke.width_mm * px < THIN:
        width = stroke.width_mm
        return (
            f'<path fill="none" stroke="#000" stroke-width="{width}" d="{_data(shape.geometry)}"/>'
        )
    return f'<path fill-rule="evenodd" d="{_data(outline(shape.geometry, stroke))}"/>'


def _data(geometry) -> str:
    rings = []
    for part in shapely.get_parts(geometry):
        lines = [part] if part.geom_type == "LineString" else [part.exterior, *part.interiors]
        for line in lines:
            points = " ".join(f"{x:.5f},{y:.5f}" for x, y in line.coords)
            closed = "Z" if line.coords[0] == line.coords[-1] else ""
            rings.append(f"M{points}{closed}")
    return "".join(rings)


def agreement(ours, theirs) -> tuple[float, float]:
    """IoU, and IoU where differences one pixel thin are forgiven."""
    either = np.count_nonzero(ours | theirs)
    if not either:
        return 1.0, 1.0
    wrong = ours ^ theirs
    thick = ndimage.binary_opening(wrong, np.ones((2, 2)))
    return 1 - np.count_nonzero(wrong) / either, 1 - np.count_nonzero(thick) / either


def _picture(ours, theirs) -> Image.Image:
    """Ours only: red; theirs only: blue; both: grey."""
    out = np.full((*ours.shape, 3), 255, np.uint8)
    out[ours & theirs] = 190
    out[ours & ~theirs] = (220, 0, 0)
    out[theirs & ~ours] = (0, 0, 220)
    return Image.fromarray(out)


def agrees(result: Result, least: float) -> bool:
    return result.iou >= least or result.near >= 0.995


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--pixels", type=int, default=1000)
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--strict", action="store_true")
    parser.add_argument("--lines", action="store_true")
    parser.add_argument("--pictures", type=Path)
    parser.add_argument("--only", default="")
    parser.add_argument("--browser")
    parser.add_argument("--jobs", type=int, default=1)
    args = parser.parse_args(arguments)
    files = [f for f in sorted(args.folder.rglob("*.svg")) if args.only in f.name][:: args.every]
    if args.pictures:
        args.pictures.mkdir(parents=True, exist_ok=True)
    jobs = [(file, args.pixels, args.pictures, args.browser) for file in files]
    with multiprocessing.Pool(args.jobs) as pool:
        results = pool.starmap(compare, jobs, chunksize=1)
    least = 0.985 if args.strict else 0.98
    fails = [result for result in results if not agrees(result, least)]
    other = [r for r in results if r.verdict in {"refused", "renderer refuses"}]
    for result in results if args.lines else [*fails, *other]:
        print(f"{result.iou:.4f} {result.near:.4f} {result.name}: {result.verdict} {result.note}")
    good = len(results) - len(fails) - len(other)
    print(f"{good} of {len(results)} agree; {len(other)} refused by reader or renderer")
    print(f"{sum(r.iou >= least for r in results) - len(other)} by IoU >= {least}")
    for verdict, count in Counter(r.verdict for r in fails).most_common():
        print(f"{count:5} {verdict}")
    return int(any(r.verdict == "CRASH" for r in fails))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
