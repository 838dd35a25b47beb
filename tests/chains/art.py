"""Random drawings of a nursery's labels, each with a bench: leaves, seeds, stems, frames, words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import random

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}">'
PAINTS = ("#000000", "#205030", "#804020", "#b02060")
HOLE = (4.0, 4.0, 1.6)
"""Middle and radius of the hanging hole, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A drawing, and what a recipe for it says but for its passes.

    `unmarked` are the pieces of markup that show part, hole and helper lines; `marked` the others.
    """

    width: float
    height: float
    marked: tuple[str, ...]
    unmarked: tuple[str, ...] = ()
    recipe: dict[str, Any]
    labels: tuple[str, ...] = ()

    @property
    def svg(self) -> bytes:
        """The whole drawing."""
        head = HEAD.format(w=number(self.width), h=number(self.height))
        return "\n".join([head, *self.unmarked, *self.marked, "</svg>"]).encode()


def number(value: float) -> str:
    """A number as a drawing program would write it."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def draw(chance: random.Random) -> Drawn:
    """A label with two to seven figures on it."""
    width, height = round(chance.uniform(24, 60), 3), round(chance.uniform(16, 40), 3)
    pieces = []
    for n in range(chance.randint(2, 7)):
        figure = chance.choice(FIGURES)
        x = chance.uniform(0.3, 0.7) * width
        y = chance.uniform(0.3, 0.7) * height
        size = chance.uniform(0.08, 0.28) * min(width, height)
        pieces.append(figure(chance, n, x, y, size))
    if chance.random() < 0.5:
        half = len(pieces) // 2
        group = "\n".join(pieces[:half])
        pieces[:half] = [f'<g id="fronds">{group}</g>'] if half else []
    unmarked, recipe = bench(chance, width, height)
    return Drawn(
        width=width,
        height=height,
        marked=tuple(pieces),
        unmarked=unmarked,
        recipe=recipe,
        labels=("fronds",),
    )


def _style(chance: random.Random) -> str:
    """Filled, stroked or both."""
    paint = chance.choice(PAINTS)
    kind = chance.random()
    if kind < 0.6:
        return f'fill="{paint}"'
    width = number(chance.choice((0.1, 0.2, 0.4, 0.8, 1.6)))
    more = chance.choice(("", ' stroke-linecap="round"', ' stroke-linejoin="round"'))
    if chance.random() < 0.15:
        more += ' stroke-dasharray="1.2 0.8"'
    fill = paint if kind > 0.85 else "none"
    return f'fill="{fill}" stroke="{chance.choice(PAINTS)}" stroke-width="{width}"{more}'


def _path(chance: random.Random, n: int, data: str, kind: str, style: str = "") -> str:
    turn = _transform(chance, data) if chance.random() < 0.25 else ""
    return f'<path id="{kind}-{n}" class="{kind}" {style or _style(chance)}{turn} d="{data}"/>'


def _transform(chance: random.Random, data: str) -> str:
    """A map about the path's first point; a turn about the page's corner leads off it, seldom."""
    if chance.random() < 0.1:
        return f' transform="rotate({chance.randint(-30, 30)})"'
    x, y = data.removeprefix("M").replace("m", " ").split()[:2]
    wide, high = (number(chance.uniform(0.5, 1.3)) for _ in "xy")
    way = chance.choice((
        f"rotate({chance.randint(-180, 180)})", f"scale({wide} {high})", f"scale(-{wide} {wide})",
        f"skewX({chance.randint(-30, 30)})", f"rotate(25) scale({wide} {high}) rotate(40)",
    ))  # fmt: skip
    return f' transform="translate({x} {y}) {way} translate(-{x} -{y})"'


def _point(x: float, y: float, angle: float, along: float, aside: float) -> str:
    c, s = math.cos(angle), math.sin(angle)
    return f"{number(x + c * along - s * aside)} {number(y + s * along + c * aside)}"


def leaf(chance: random.Random, n: int, x: float, y: float, size: float) -> str:
    """Two curves between two tips."""
    angle, belly = chance.uniform(0, math.tau), chance.uniform(0.1, 0.8) * size
    first, last = (_point(x, y, angle, at * size, 0) for at in (-1, 1))
    side, other = (_point(x, y, angle, chance.uniform(-0.5, 0.5), at) for at in (belly, -belly))
    return _path(chance, n, f"M{first} Q{side} {last} Q{other} {first}Z", "leaf")


def seeds(chance: random.Random, n: int, x: float, y: float, size: float) -> str:
    """A few discs, some of which overlap."""
    found = []
    for _ in range(chance.randint(2, 7)):
        r = number(chance.uniform(0.08, 0.3) * size)
        at = _point(x, y, chance.uniform(0, math.tau), chance.uniform(0, size), 0)
        found.append(f"M{at} m-{r} 0 a{r} {r} 0 1 0 {number(2 * float(r))} 0 a{r} {r} 0 1 0 -"
                     f"{number(2 * float(r))} 0Z")  # fmt: skip
    return _path(chance, n, " ".join(found), "seed", f'fill="{chance.choice(PAINTS)}"')


def ring(chance: random.Random, n: int, x: float, y: float, size: float) -> str:
    """A disc with a hole, by either fill rule."""
    rule = chance.choice(("evenodd", "nonzero"))
    inner = chance.uniform(0.3, 0.95) * size
    sweeps = (0, 1) if rule == "nonzero" else (0, 0)
    data = ""
    for radius, sweep in zip((size, inner), sweeps, strict=True):
        r, d = number(radius), number(2 * radius)
        data += f"M{number(x - radius)} {number(y)} a{r} {r} 0 1 {sweep} {d} 0 "
        data += f"a{r} {r} 0 1 {sweep} -{d} 0Z"
    style = f'fill="{chance.choice(PAINTS)}" fill-rule="{rule}"'
    return _path(chance, n, data, "ring", style)


def stem(chance: random.Random, n: int, x: float, y: float, size: float) -> str:
    """A curve that is stroked only."""
    points = [_point(x, y, chance.uniform(0, math.tau), size, 0) for _ in range(4)]
    width = number(chance.choice((0.1, 0.25, 0.5, 1.2)))
    style = f'fill="none" stroke="{chance.choice(PAINTS)}" stroke-width="{width}"'
    return _path(chance, n, f"M{points[0]} C{' '.join(points[1:])}", "stem", style)


def petal_star(chance: random.Random, n: int, x: float, y: float, size: float) -> str:
    """A flower of straight lines, which may cross itself."""
    count, skip = chance.choice(((5, 1), (5, 2), (7, 2), (7, 3), (9, 1)))
    turn, waist = chance.uniform(0, math.tau), chance.uniform(0.3, 1.0)
    points = [
        _point(x, y, turn + math.tau * skip * k / count, size * (waist if k % 2 else 1.0), 0)
        for k in range(count)
    ]
    rule = chance.choice(("evenodd", "nonzero"))
    style = f'fill="{chance.choice(PAINTS)}" fill-rule="{rule}"'
    return _path(chance, n, f"M{' L'.join(points)}Z", "flower", style)


def frame(chance: random.Random, n: int, x: float, y: float, size: float) -> str:
    """An upright rectangle, sometimes rounded."""
    wide, high = size * chance.uniform(0.5, 2), size * chance.uniform(0.2, 1.2)
    round_ = f' rx="{number(0.2 * min(wide, high))}"' if chance.random() < 0.4 else ""
    at = f'x="{number(x - wide / 2)}" y="{number(y - high / 2)}"'
    box = f'width="{number(wide)}" height="{number(high)}"'
    return f'<rect id="frame-{n}" class="frame" {_style(chance)} {at} {box}{round_}/>'


def comb(chance: random.Random, n: int, x: float, y: float, size: float) -> str:
    """Letters without a font: strokes side by side on a bar, as one area."""
    teeth, wide = chance.randint(2, 6), chance.uniform(0.1, 0.6)
    pitch, bar = 2 * size / teeth, chance.uniform(0.1, 0.5)
    data = (
        f"M{number(x - size)} {number(y)} h{number(2 * size)} v{number(bar)} h{number(-2 * size)}Z"
    )
    for k in range(teeth):
        left = x - size + (k + 0.2) * pitch
        data += (
            f" M{number(left)} {number(y + bar)} v{number(size)} "
            f"h{number(wide * pitch)} v{number(-size)}Z"
        )
    return _path(chance, n, data, "comb", f'fill="{chance.choice(PAINTS)}"')


def twice(chance: random.Random, n: int, x: float, y: float, size: float) -> str:
    """The same leaf two times, one on the other."""
    one = leaf(chance, n, x, y, size)
    return one + "\n" + one.replace(f'id="leaf-{n}"', f'id="again-{n}"')


def crescent(chance: random.Random, n: int, x: float, y: float, size: float) -> str:
    """A disc out of which the page's colour takes a bite."""
    r, bite = number(size), number(size * chance.uniform(0.4, 0.9))
    middle = _point(x, y, chance.uniform(0, math.tau), 0.6 * size, 0).split()
    disc = f'<circle id="moon-{n}" class="moon" fill="{chance.choice(PAINTS)}" r="{r}"'
    disc += f' cx="{number(x)}" cy="{number(y)}"/>'
    white = f'<circle id="bite-{n}" fill="#ffffff" cx="{middle[0]}" cy="{middle[1]}" r="{bite}"/>'
    return f"{disc}\n{white}"


def hairs(chance: random.Random, n: int, x: float, y: float, size: float) -> str:
    """A fan of slivers, all thinner than a few rows."""
    wide, data = chance.uniform(0.02, 0.3), ""
    for angle in sorted(chance.uniform(0, math.tau) for _ in range(chance.randint(3, 9))):
        ends = (_point(x, y, angle, along, aside) for along, aside in (
            (0.2 * size, -wide / 2), (size, 0), (0.2 * size, wide / 2)))  # fmt: skip
        data += f"M{' L'.join(ends)}Z"
    return _path(chance, n, data, "hair", f'fill="{chance.choice(PAINTS)}"')


def traced(chance: random.Random, n: int, x: float, y: float, size: float) -> str:
    """An outline of many points, as a tracing program leaves it."""
    count, waves = chance.randint(60, 400), chance.randint(3, 9)
    points = [
        _point(x, y, math.tau * k / count, size * (
            0.75 + 0.2 * math.sin(waves * math.tau * k / count) + chance.uniform(0, 0.03)), 0)
        for k in range(count)
    ]  # fmt: skip
    return _path(chance, n, f"M{' L'.join(points)}Z", "traced", f'fill="{chance.choice(PAINTS)}"')


def tendril(chance: random.Random, n: int, x: float, y: float, size: float) -> str:
    """A stroke that turns back upon itself, within a curve or where curves meet."""
    a, b = (chance.uniform(0, math.tau) for _ in "ab")
    out, home = _point(x, y, a, size, 0), _point(x, y, a, size, 0.05 * size)
    data = f"M{x:.3f} {y:.3f} C{out} {home} {_point(x, y, b, 0.2 * size, 0)}"
    data += f" S{out} {_point(x, y, b, 0.9 * size, 0)} T{_point(x, y, b, size, 0)}"
    return _path(chance, n, data, "tendril")


def sprig(chance: random.Random, n: int, x: float, y: float, size: float) -> str:
    """One leaf, used again and turned about its foot."""
    foot, tip = _point(x, y, 0, 0, 0), _point(x, y, 0, size, 0)
    sides = [_point(x, y, 0, 0.4 * size, aside * size) for aside in (0.2, -0.2)]
    paint = chance.choice(PAINTS)
    leaf_ = f'<path id="leaflet-{n}" class="leaf" fill="{paint}" d="M{foot} Q{sides[0]} {tip} '
    leaf_ += f'Q{sides[1]} {foot}Z"/>'
    again = [
        f'<use id="use-{n}-{k}" href="#leaflet-{n}" transform="rotate({turn} {foot})"/>'
        for k, turn in enumerate(chance.sample(range(20, 340, 20), chance.randint(1, 4)))
    ]
    return "\n".join([leaf_, *again])


def window(chance: random.Random, n: int, x: float, y: float, size: float) -> str:
    """A leaf of which a clip shows a part."""
    disc = f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(0.7 * size)}"/>'
    clip = f'<clipPath id="window-{n}">{disc}</clipPath>'
    data = (
        f"M{_point(x, y, 0.4, -size, 0)} Q{_point(x, y, 0.4, 0, size)} {_point(x, y, 0, size, 0)}Z"
    )
    inner = _path(chance, n, data, "leaf", f'fill="{chance.choice(PAINTS)}"')
    return f'{clip}<g clip-path="url(#window-{n})">{inner}</g>'


FIGURES = (leaf, leaf, leaf, seeds, ring, stem, stem, petal_star, frame, comb, twice, crescent,
           hairs, traced, tendril, sprig, window)  # fmt: skip


def bench(
    chance: random.Random, width: float, height: float
) -> tuple[tuple[str, ...], dict[str, Any]]:
    """Part, hole and helper lines as markup, and what the recipe says of part, machine, layers."""
    unmarked, recipe = part(chance, width, height)
    recipe["machine"] = machine(chance, width, height)
    pitch = chance.choice((0.1, 0.15, 0.25))
    engrave = {"power": "50 %", "speed": "900 mm/s", "pitch": f"{pitch} mm"}
    engrave["direction"] = chance.choice(("one-way", "two-way"))
    engrave["angle"] = f"{chance.choice((0, 0, 0, 0, 90, 30, 45, -20))} deg"
    recipe["settings"] = {
        "engrave": engrave,
        "score": {"power": "30 %", "speed": "250 mm/s"},
        "cut": {"power": "90 %", "speed": "40 mm/s"},
    }
    if chance.random() < 0.3:
        recipe["layers"] = layers(chance)
    if chance.random() < 0.3:
        filament = {"name": "moss-green", "polymer": chance.choice(("PLA", "PETG", "ABS"))}
        if chance.random() < 0.6:
            filament |= {"reference": {"power": "50 %"}, "window": {"weak": 0.85, "heavy": 1.2}}
            filament["bleed"] = "0.02 mm"
        recipe["filament"] = filament
    if chance.random() < 0.1:
        recipe["check_square"] = True
    if chance.random() < 0.06:
        recipe["anchors"] = chance.choice((True, {"lines": "score"}, {"part": True}))
    if chance.random() < 0.15:
        recipe["drawing"] = {"decimals": chance.choice((3, 4, 5))}
    return unmarked, recipe


def part(
    chance: random.Random, width: float, height: float
) -> tuple[tuple[str, ...], dict[str, Any]]:
    """The printed label, by its size or drawn as an outline, sometimes with a hole to keep off."""
    kind = chance.random()
    if kind < 0.12:
        return (), {}
    if kind < 0.55:
        size = [f"{number(width)} mm", f"{number(height)} mm"]
        return (), {"part": {"outline": size, "thickness": "3 mm"}}
    sides = f'x="0.5" y="0.5" width="{number(width - 1)}" height="{number(height - 1)}" rx="3"'
    line = 'fill="none" stroke="#808080" stroke-width="0.1"'
    markup = [f'<rect id="label-edge" {line} {sides}/>']
    recipe: dict[str, Any] = {"part": {"outline": "#label-edge", "thickness": "3 mm"}}
    if chance.random() < 0.4:
        x, y, r = HOLE
        markup.append(f'<circle id="hole" {line} cx="{x}" cy="{y}" r="{r}"/>')
        recipe["keep_off"] = ["#hole"]
    return tuple(markup), recipe


def machine(chance: random.Random, width: float, height: float) -> dict[str, Any]:
    """A galvo or, seldom, a gantry, with a field that leaves room for bars."""
    found: dict[str, Any] = {"name": "nursery bench"}
    if chance.random() < 0.9:
        room = chance.choice((30, 60, 120))
        found["field"] = [f"{number(width + room)} mm", f"{number(height + room)} mm"]
    if chance.random() < 0.1:
        found["max_points"] = 20000
    if chance.random() < 0.96:
        found["spot"] = f"{chance.choice((0.04, 0.06, 0.1))} mm"
    if chance.random() < 0.1:
        found |= {"mover": "gantry", "acceleration": "30000 mm/s2"}
    else:
        found |= {"turnaround": "1.2 ms", "fly_back": "2500 mm/s"}
    found["raster_groups"] = chance.choice(("each-path", "each-path", "each-colour"))
    found["first_row"] = chance.choice(("edge", "half-pitch", "page"))
    found["gaps"] = chance.choice(("swept", "jumped"))
    return found


def layers(chance: random.Random) -> list[dict[str, Any]]:
    """One to three layers by paint, class or group."""
    ways = [{"colour": paint} for paint in PAINTS]
    ways += [{"select": f".{kind}"} for kind in ("leaf", "stem", "frame", "seed")]
    ways += [{"label": "fronds"}]
    chosen = chance.sample(ways, chance.randint(1, 3))
    operations = ("engrave", "engrave", "engrave", "engrave", "score", "score", "cut")
    return [
        {"name": f"layer-{n}", "operation": chance.choice(operations)}
        | {"choose": way | {"optional": True}}
        for n, way in enumerate(chosen)
    ]
