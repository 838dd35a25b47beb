"""Judges one run by its files alone: figures by GEOS, pictures by resvg, no code of the program."""

from __future__ import annotations

import hashlib
import itertools
import re
from typing import TYPE_CHECKING, Any

import shapely
from lxml import html

from tests.chains import written as files

if TYPE_CHECKING:
    from collections.abc import Iterator

SPECK = 1e-3
"""mm² that are not worth a finding."""

DECIMALS = 4
"""Decimals of the file's numbers, where the recipe asks for no others."""

FLAT = 0.005
"""mm by which a flattened curve may lie inside the drawn one, as far as recipes here allow it."""

Report = dict[str, Any]


def judge(
    svg: bytes, report: Report, sheet: bytes, codes: frozenset[str], parts: list, keep_off: list
) -> Iterator[str]:
    """What is wrong with the files of one run, but for pictures.

    Args:
        svg: the laser-ready file.
        report: the report, as data.
        sheet: the job sheet.
        codes: the codes that the reference lists.
        parts: silhouettes on the output page; empty where unknown.
        keep_off: areas on the output page that nothing may be marked on.
    """
    page = files.read(svg)
    yield from _findings(report, codes)
    yield from _digests(svg, report, sheet)
    yield from _ledger(report)
    areas = {one.id: one.areas for one in page.groups if one.filled}
    yield from _amounts(page, areas, report)
    yield from _overlaps(areas, report)
    yield from _bars(areas, report, parts)
    yield from _places(page, areas, report, keep_off)


def rounded(report: Report) -> float:
    """mm by which a point of the file may be off: half a last digit in x and y, and a bit more."""
    decimals = report["recipe_as_run"].get("drawing", {}).get("decimals", DECIMALS)
    return 0.71 * 10.0**-decimals + 4e-5


def _findings(report: Report, codes: frozenset[str]) -> Iterator[str]:
    for one in report["findings"]:
        if one["code"] not in codes:
            yield f"unknown code {one['code']}"
        if one["severity"] != "note" and not one["remedy"]:
            yield f"no remedy: {one['code']}"
        if one["severity"] == "stop":
            yield f"written in spite of {one['code']}"
        if re.search(r"\bnan\b|\binf\b|\d[eE][+-]\d|None|-0\.0*\b(?!\d)", one["message"]):
            yield f"an odd number in {one['code']}: {one['message']}"


def _digests(svg: bytes, report: Report, sheet: bytes) -> Iterator[str]:
    digest = hashlib.sha256(svg).hexdigest()
    if report["output"]["sha256"] != digest:
        yield "the report is of another file"
    if digest.encode() not in sheet:
        yield "the sheet is of another file"
    if not sheet.endswith(b"</html>\n") or html.fromstring(sheet) is None:
        yield "the sheet is no whole page"


def _ledger(report: Report) -> Iterator[str]:
    """Each line of the ledger adds up."""
    for row in report["ledger"]:
        for what in ("area_mm2", "length_mm"):
            moved = [row["in"][what], row["out"][what]]
            total = row["in"][what] - row["out"][what]
            for step in row["steps"]:
                total += step["added"][what] - step["removed"][what]
                moved += [step["added"][what], step["removed"][what]]
            if abs(total) > 1e-3 + 1e-5 * sum(moved):
                yield f"ledger of {row['layer']} is off by {total:.5f} {what}"


def _amounts(page: files.Written, areas: dict[str, list], report: Report) -> Iterator[str]:
    """Areas and lengths of the file are those of the report, layer by layer and in all."""
    known = {one["id"]: one for one in report["layers"]}
    for group in page.groups:
        if group.id in known:  # guides are not, and the report does not count them
            told = known.pop(group.id)
            yield from _amount(group, areas.get(group.id, []), told, rounded(report))
    for name, told in known.items():
        if told["area_mm2"] + told["length_mm"] > SPECK:
            yield f"{name} is in the report and not in the file"
    if any(one["code"] == "clear-areas-unmarked" for one in report["findings"]):
        return  # the ledger counts guides, which are not written
    for row in report["ledger"]:
        mine = [one for one in report["layers"] if one["layer"] == row["layer"]]
        area = sum(one["area_mm2"] + one["bars_mm2"] for one in mine)
        swept = bool(mine) and all(one["operation"] == "engrave" for one in mine)
        if swept and abs(area - row["out"]["area_mm2"]) > SPECK + 2e-5 * area:
            yield f"ledger of {row['layer']}: {row['out']['area_mm2']} mm² out, layers {area}"


def _amount(group: files.Group, areas: list, told: dict[str, Any], off: float) -> Iterator[str]:
    if group.filled:
        found, slack = sum(area.area for area in areas), off * group.length
        expected, what = told["area_mm2"] + told["bars_mm2"], "mm²"
    else:
        found, slack = group.length, off * group.points
        expected, what = told["length_mm"], "mm"
    if abs(found - expected) > slack + SPECK + 1e-5 * expected:
        yield f"{group.id} holds {found:.4f} {what}, the report says {expected:.4f}"
    if group.colour != told["colour"]:
        yield f"{group.id} has the colour {group.colour}, the report says {told['colour']}"


def _overlaps(areas: dict[str, list], report: Report) -> Iterator[str]:
    """What is marked twice is warned of, with its area, and nothing else is."""
    told: dict[str, float] = {}
    off = rounded(report)
    for one in report["findings"]:
        if one["code"] == "marked-twice":
            names, area = re.fullmatch(r"(.*) overlap by ([\d.]+) mm².*", one["message"]).groups()
            told[names] = float(area)
        if one["code"] == "overlap-in-layer":
            name, area = re.fullmatch(
                r"areas of (.*) overlap by ([\d.]+) mm².*", one["message"]
            ).groups()
            told[name] = float(area)
    whole = {name: shapely.unary_union(found) for name, found in areas.items()}
    found = {
        f"{one} and {other}": shapely.intersection(whole[one], whole[other])
        for one, other in itertools.combinations(whole, 2)
    }
    for name, over in found.items():
        yield from _compared(name, over.area, told, 2 * off * over.length)
    for name, pieces in areas.items():
        over = sum(one.area for one in pieces) - whole[name].area
        yield from _compared(name, over, told, 2 * off * sum(one.length for one in pieces))


def _compared(name: str, over: float, told: dict[str, float], slack: float) -> Iterator[str]:
    said = told.get(name, 0.0)
    if abs(over - said) > SPECK + 0.006 + slack:
        yield f"{name} overlap by {over:.4f} mm², told are {said}"


def _bars(areas: dict[str, list], report: Report, parts: list) -> Iterator[str]:
    """Bars keep away from the part, and have the area that the report says."""
    asked = [step["equalize-width"] for step in report["recipe_as_run"]["passes"]
             if "equalize-width" in step]  # fmt: skip
    codes = {one["code"] for one in report["findings"]}
    if not asked or not parts or "beyond-the-part" in codes:
        return
    silhouette = shapely.unary_union(parts)
    curved = shapely.get_num_coordinates(silhouette) > 5
    clearance = min(float(one["clearance"].split()[0]) for one in asked)
    off = rounded(report)
    clearance -= FLAT + off if curved else off
    told = {one["id"]: one["bars_mm2"] for one in report["layers"]}
    for name, found in areas.items():
        pieces = shapely.get_parts(shapely.get_parts(found))
        outside = pieces[shapely.disjoint(pieces, silhouette)]
        area = float(shapely.area(outside).sum())
        if abs(area - told[name]) > 1e-3 + 2 * off * float(shapely.length(outside).sum()):
            yield f"bars of {name} have {area:.4f} mm², the report says {told[name]}"
        if len(outside) and shapely.distance(outside, silhouette).min() < clearance:
            near = shapely.distance(outside, silhouette).min()
            yield f"a bar of {name} is {near:.4f} mm from the part, asked {asked}"


def _places(
    page: files.Written, areas: dict[str, list], report: Report, keep_off: list
) -> Iterator[str]:
    """Nothing is marked on a keep-off area or beyond the field."""
    known = {one["id"] for one in report["layers"]}
    lines = [
        shapely.linestrings(sub)
        for group in page.groups
        if group.id in known and not group.filled
        for path in group.paths
        for sub in path
    ]
    marks = shapely.union_all([*itertools.chain(*areas.values()), *lines])
    off = shapely.union_all(keep_off)
    if not off.is_empty and marks.intersects(off.buffer(-0.01 - 3 * rounded(report))):
        yield "marked on a keep-off area"
    field = report["recipe_as_run"].get("machine", {}).get("field")
    if field and not marks.is_empty:
        left, top, right, bottom = marks.bounds
        for side, most in zip((right - left, bottom - top), field, strict=True):
            if side > float(most.split()[0]) + 1e-3:
                yield f"marks are {side:.3f} mm long in a field of {most}"
