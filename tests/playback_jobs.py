"""Small jobs of the nursery for tests of the playback, one to each thing that a beam can do."""

from __future__ import annotations

from functools import cache

from preprocess.marking.heat.index import HeatIndex
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.prediction import Prediction
from preprocess.model.bench.filament import Window
from preprocess.pipeline import convert, predict_both
from preprocess.recipe.load import recipe_from_mapping

LEAF = "M6 5 Q9 2 14 4 Q11 8 6 5 Z"
PETIOLE = "M6 5 L3 6"

DESIGN = """<svg xmlns="http://www.w3.org/2000/svg" width="24mm" height="10mm" viewBox="0 0 24 10">
<path id="label" d="{label}" fill="none" stroke="#888"/>{drawn}</svg>"""

LABEL = "M1 1 H23 V9 H1 Z"
LEAVES = (
    f'<path class="leaf" d="{LEAF}"/><path class="leaf" transform="translate(8 1)" d="{LEAF}"/>'
    f'<path class="vein" d="{PETIOLE}" fill="none" stroke="#000" stroke-width="0.1"/>'
)
GALVO = {"name": "bench galvo", "spot": "0.06 mm", "turnaround": "1.2 ms", "fly_back": "2500 mm/s"}
ROWS = {"power": "60 %", "speed": "700 mm/s", "pitch": "0.1 mm", "direction": "two-way"}

JOBS = {
    "turned": {
        "machine": {**GALVO, "gaps": "jumped", "raster_groups": "each-colour"},
        "settings": {"engrave": {**ROWS, "angle": "30 deg", "repeats": 2}},
    },
    "tray": {
        "machine": {**GALVO, "raster_groups": "each-colour"},
        "passes": [
            "merge",
            {"place": {"copies": [2, 1], "spacing": ["34 mm", "12 mm"]}},
            "equalize-width",
        ],
    },
    "own-rows": {"passes": [{"hatch": {"every": 3, "direction": "two-way"}}]},
    "rounds": {"passes": ["merge", "interleave", "solve-power"]},
    "late-light": {
        "machine": {
            **GALVO,
            "power_offset": "8 %",
            "power_ramp": "0.15 ms",
            "laser_on_delay": "0.05 ms",
        }
    },
    "greys": {
        "machine": {**GALVO, "grey": {"from": "10 %", "to": "100 %", "gamma": 1}},
        "passes": ["merge", "grey"],
    },
    "over-the-edge": {"label": "M1 1 H10 V9 H1 Z"},
    "speeds": {
        "layers": [
            {"name": "first", "operation": "engrave", "choose": {"select": ".leaf"}},
            {
                "name": "second",
                "operation": "engrave",
                "choose": {"select": ".bract"},
                "settings": {"speed": "300 mm/s", "power": "30 %", "direction": "one-way"},
            },
        ],
        "filament": {
            "name": "moss",
            "speed_correction": 0.2,
            "reference": {
                "power": "60 %",
                "speed": "700 mm/s",
                "pitch": "0.1 mm",
                "size": ["8 mm", "8 mm"],
            },
            "window": {"weak": 0.85, "heavy": 1.2},
        },
        "drawn": f'<path class="leaf" d="{LEAF}"/>'
        f'<path class="bract" transform="translate(8 1)" d="{LEAF}"/>',
    },
}


@cache
def playback_job(name: str):
    """A conversion and its two predictions."""
    job = JOBS[name]
    recipe = {
        "recipe": 1,
        "machine": job.get("machine", GALVO),
        "part": {"outline": "#label", "thickness": "1.4 mm"},
        "settings": {"engrave": ROWS, "score": {"power": "25 %", "speed": "300 mm/s"}},
        "passes": job.get("passes", []),
        **{key: job[key] for key in ("settings", "layers", "filament") if key in job},
    }
    recipe["settings"] = {"score": {"power": "25 %", "speed": "300 mm/s"}, **recipe["settings"]}
    design = DESIGN.format(label=job.get("label", LABEL), drawn=job.get("drawn", LEAVES))
    result = convert(recipe_from_mapping(recipe), design.encode(), f"{name}.svg")
    return result, predict_both(result)


@cache
def rectangle_job(thickness: float | None):
    """The job of `tests.playback_reference`."""
    recipe = {
        "recipe": 1,
        "machine": {"name": "bench galvo", "spot": "0.08 mm", "turnaround": "1.2 ms"},
        "filament": {
            "name": "moss",
            "conductivity": "0.15 W/m/K",
            "density": "1.24 g/cm3",
            "heat_capacity": "1.8 J/g/K",
            "optical_depth": "0.05 mm",
            "spread": "0.3 mm",
        },
        "part": {
            "outline": "#label",
            **({} if thickness is None else {"thickness": f"{thickness} mm"}),
        },
        "settings": {"engrave": {**ROWS, "speed": "500 mm/s"}},
        "passes": [],
    }
    drawn = '<path class="leaf" d="M2 1 H6 V1.5 H2 Z"/>'
    design = DESIGN.format(label="M0 0 H12 V4 H0 Z", drawn=drawn)
    result = convert(recipe_from_mapping(recipe), design.encode(), "bed.svg")
    return result, predict_both(result)


def dots_job(across: int):
    """So many dots of 0.8 mm across and down, each a path of its own; no heat is predicted."""
    middles = [2 + 2 * n for n in range(across)]
    drawn = "".join(f'<circle cx="{x}" cy="{y}" r="0.4"/>' for y in middles for x in middles)
    side = 2 * across + 2
    recipe = {
        "recipe": 1,
        "machine": GALVO,
        "part": {"outline": "#label"},
        "settings": {"engrave": ROWS},
        "passes": [],
    }
    design = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{side}mm" height="{side}mm" '
        f'viewBox="0 0 {side} {side}"><rect id="label" width="{side}" height="{side}" '
        f'fill="none"/>{drawn}</svg>'
    )
    result = convert(recipe_from_mapping(recipe), design.encode(), "dots.svg")
    machine = result.bench.machine_or_default
    cold = HeatIndex(images=(), window=Window(), calibrated=False, assumed=())
    plans = [plan_of(artwork, machine) for artwork in (result.drawn, result.after)]
    one, other = (
        Prediction(plan=plan, schedule=schedule_of(plan, machine), heat=cold, findings=())
        for plan in plans
    )
    return result, (one, other)


def idle_job():
    """A leaf for which no speed is set, on no known part."""
    recipe = {"recipe": 1, "settings": {"engrave": {"pitch": "0.1 mm"}}, "passes": []}
    design = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
        '<path id="leaf" d="M1 1 H6 V4 Z"/></svg>'
    )
    result = convert(recipe_from_mapping(recipe), design.encode(), "leaf.svg")
    return result, predict_both(result)
