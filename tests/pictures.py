"""What the program makes of the jobs, kept beside them, and the pictures of the documents.

``python -m tests.pictures`` exits 1 and names each file that is not byte for byte what is made
today; ``--write`` makes them anew. Tests are more patient, since last digits may differ from one
version of a geometry library to the next: they compare geometry, words and looks.
"""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

from preprocess.model.artwork.artwork import Drawing
from preprocess.model.artwork.output import output_layers
from preprocess.pipeline import Conversion, convert
from preprocess.preview.overlay.overlay import overlay_svg
from preprocess.recipe.load import load_recipe
from tests.beam_film import fern, film
from tests.heat_figures import figures
from tests.readme_run import quoted

ROOT = Path(__file__).parents[1]
JOBS = ROOT / "fixtures" / "jobs"
FERN = JOBS / "fern"
BEAM = ROOT / "docs" / "use" / "pictures" / "beam.svg"
"""The film of the README, which needs a whole prediction: apart from what tests make on import."""

SVG = "{http://www.w3.org/2000/svg}"
SMALL = Drawing(tolerance=0.01, decimals=3)
"""Coarser than the job itself: a picture need not weigh a hundred thousand bytes."""
CLOSE_UP = (20.2, 10.8, 6.0)
"""Left, top and size in mm of the square of the drawing that is shown enlarged: two tips."""

PAGE = """<svg xmlns="http://www.w3.org/2000/svg"
 xmlns:xlink="http://www.w3.org/1999/xlink" width="960" height="619" viewBox="0 0 152 98">
<title>A fern label, as drawn and as evenmark writes it</title>
<style type="text/css">
text {{ font: 3px sans-serif; fill: #222 }}
.edge {{ fill: none; stroke: #888; stroke-width: .25; stroke-dasharray: 1 .7 }}
.frame {{ fill: none; stroke: #222; stroke-width: .3 }}
{style}</style>
<rect width="152" height="98" fill="#fff"/>
<defs>
<g id="drawn">
{drawn}
</g>
<g id="written" transform="translate({dx:g} {dy:g})">
{written}
</g>
</defs>
<text x="4" y="7">as drawn: hottest place {hot[0]}, coldest {cold[0]}, predicted</text>
<svg x="5" y="9" width="94" height="36" viewBox="-2 0 94 36"><use xlink:href="#drawn"/></svg>
<text x="4" y="52">as written, in four rounds: hottest {hot[1]}, coldest {cold[1]}</text>
<svg x="5" y="54" width="94" height="36" viewBox="-2 0 94 36">
<use class="edge" xlink:href="#label-edge"/><use xlink:href="#written"/></svg>
<text x="108" y="7">two tips, drawn</text>
{close_drawn}
<text x="108" y="52">pulled inward, in rounds</text>
{close_written}
{legend}
</svg>
"""


def picture() -> str:
    """The SVG: the drawing, what is written, and two tips of each enlarged."""
    result = _converted()
    page = result.after.page
    root = ET.fromstring((FERN / "fern.svg").read_text("utf-8"))
    style = root.findtext(f"{SVG}style", "").lstrip()
    drawn = [child for child in root if child.tag not in {f"{SVG}style", f"{SVG}title"}]
    written = list(ET.fromstring(result.data))
    for element in (one for group in written for one in group.iter()):
        element.attrib.pop("id", None)  # the drawing's style would reach them
    hot, cold = _predicted()
    return PAGE.format(
        hot=hot,
        cold=cold,
        style=style,
        drawn=_markup(drawn),
        written=_markup(written),
        dx=page.left,
        dy=page.top,
        close_drawn=_close_up("#drawn", 9),
        close_written=_close_up("#written", 54),
        legend=_legend(result),
    )


def _predicted() -> list[tuple[str, str]]:
    """Hottest and coldest place, before and after, as the README quotes the run."""
    (told,) = [line for line in quoted() if line.startswith("predicted: ")]
    return re.findall(r"(\S+ %) → (\S+ %)", told)[:2]


def _converted() -> Conversion:
    loaded = load_recipe(FERN / "fern.yaml")
    loaded = replace(loaded, options=replace(loaded.options, drawing=SMALL))
    return convert(loaded, loaded.design.read_bytes(), loaded.design.name)


def _markup(elements: list[ET.Element]) -> str:
    """Elements as text without namespaces, and without the titles that would pop up."""
    for element in elements:
        for parent in element.iter():
            parent.tag = parent.tag.removeprefix(SVG)
            parent.attrib = {
                "xlink:href" if k == "href" else k: v
                for k, v in parent.attrib.items()
                if not k.startswith("{")
            }
            for title in parent.findall(f"{SVG}title"):
                parent.remove(title)
    return "\n".join(ET.tostring(element, "unicode").strip() for element in elements)


def _close_up(name: str, top: float) -> str:
    left, upper, size = CLOSE_UP
    box = f'x="109" y="{top}" width="36" height="36"'
    view = f'viewBox="{left:g} {upper:g} {size:g} {size:g}"'
    return f'<svg {box} {view}><use xlink:href="{name}"/></svg>\n<rect class="frame" {box}/>'


def _legend(result: Conversion) -> str:
    out, x = [], 5.0
    for layer in output_layers(result.after):
        text = f"{layer.id} {100 * layer.settings.power:.0f} %"
        colour = result.colours[layer.id]
        out.append(f'<rect x="{x:g}" y="93.4" width="2.4" height="2.4" fill="{colour}"/>')
        out.append(f'<text x="{x + 3.2:g}" y="95.6">{text}</text>')
        x += 5.5 + 1.65 * len(text)
    return "\n".join(out)


def outputs(recipe: Path) -> dict[Path, str]:
    """Laser-ready SVG and overlay of a job."""
    loaded = load_recipe(recipe)
    result = convert(loaded, loaded.design.read_bytes(), loaded.design.name)
    overlay = overlay_svg(
        result.before,
        result.after,
        machine=result.bench.machine_or_default,
        colours=result.colours,
        title=loaded.design.name,
        reliefs=result.bench.reliefs,
    )
    return {
        recipe.with_suffix(".laser.svg"): result.data.decode(),
        recipe.with_suffix(".overlay.svg"): overlay.decode(),
    }


def recipes() -> list[Path]:
    """The recipes of all jobs."""
    return sorted(p for p in JOBS.glob("*/*.yaml") if "\npasses:" in p.read_text("utf-8"))


def made() -> dict[Path, str]:
    """All files that are made, by their path."""
    of_jobs = {path: text for recipe in recipes() for path, text in outputs(recipe).items()}
    pictures = {"fern.svg": picture(), **figures()}
    return {
        **{ROOT / "docs" / "use" / "pictures" / n: text for n, text in pictures.items()},
        **of_jobs,
    }


def main() -> int:
    """Name stale files, or make them anew."""
    files = {**made(), BEAM: film(*fern())}
    if "--write" in sys.argv:
        for path, text in files.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, "utf-8")
        return 0
    stale = [p for p, text in files.items() if not p.is_file() or p.read_text("utf-8") != text]
    for path in stale:
        print(f"{path.relative_to(ROOT)} is stale: run python -m tests.pictures --write")
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main())
