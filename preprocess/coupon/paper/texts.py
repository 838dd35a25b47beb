"""Texts of the coupon sheet: purpose of each kind, grades, instructions, cautions."""

from __future__ import annotations

from dataclasses import dataclass

from preprocess.coupon.design.model import CouponKind
from preprocess.coupon.paper.stair_texts import SHARPNESS_TEXTS, TO_JUDGE_SHARPNESS


@dataclass(frozen=True, slots=True, kw_only=True)
class KindTexts:
    """`measures` completes "This coupon measures"; the others are sentences."""

    measures: str
    shows: str
    look: str
    use: str = "evenmark fit turns the grades into a profile of this filament."


_BLANK = ("blank", "not marked, spoilt, or you cannot tell")

GRADE_TEXTS = (
    ("weak", "too little: patchy, hardly stands out, or nothing to see"),
    ("even", "what you want: one tone all over, edges clean, the surface sound"),
    ("heavy", "too much: coarse, stronger than wanted, edges spread or raised"),
    ("molten", "the surface ran, bubbled, charred or shines"),
    _BLANK,
)
"""The grades, for marks lighter and darker than the plastic alike."""

CLOSE_UP_GRADES: dict[CouponKind, tuple[tuple[str, str], ...]] = {
    CouponKind.BAR_DISTANCE: (
        ("weak", "the blade itself is marked less than the others"),
        ("even", "edge and flank of the plate are clean"),
        ("heavy", "the beam has touched edge or flank"),
        ("molten", "edge or flank is damaged"),
        _BLANK,
    ),
    CouponKind.TIP_WIDTH: (
        ("weak", "the tip is broken off or missing"),
        ("even", "the tip is whole, and as strong as the leaf"),
        ("heavy", "the tip is broader than drawn, or stronger than the leaf"),
        ("molten", "the tip ran, bubbled or charred"),
        _BLANK,
    ),
    CouponKind.SPOT_BLEED: (
        ("weak", "a gap is wider than it should be; a line is broken or missing"),
        ("even", "a gap is open all along; a line is whole and of its width"),
        ("heavy", "a gap has grown shut somewhere; a line is broader than drawn"),
        ("molten", "the edges ran, bubbled or charred"),
        _BLANK,
    ),
    CouponKind.RASTERED_INTERLEAVED: (
        ("weak", "the leaf as a whole hardly shows"),
        ("even", "the tip is as strong as the wide part, the surface level, no rows to be seen"),
        ("heavy", "the tip is stronger than the wide part, or rows show as lines"),
        ("molten", "the surface ran, bubbled, charred, or rose between the rows"),
        _BLANK,
    ),
    CouponKind.FIRST_ROW: (
        ("weak", "nothing below the bar"),
        ("even", "filled below the bar, as dense as the bar itself"),
        ("heavy", "filled, and so is the column beside it"),
        ("molten", "the surface ran, bubbled or charred: take less power"),
        _BLANK,
    ),
    CouponKind.GREY_STEPS: (
        ("C", "as strong as square C"),
        ("CD", "stronger than C, weaker than D"),
        ("-", "no mark at all"),
        ("blank", "you cannot tell, or beyond all squares"),
    ),
    CouponKind.FOCUS_STEPS: (*SHARPNESS_TEXTS, _BLANK),
    CouponKind.SCORE_DEPTH: (
        ("weak", "shallower than you want it, or broken"),
        ("even", "a clean line, as deep as you want it"),
        ("heavy", "deeper or broader than you want it"),
        ("molten", "its sides ran, bubbled or charred"),
        _BLANK,
    ),
}
"""The grades of coupons that are graded by edges and lines, not by tone."""

_WHOLE = (
    "One grade stands for the whole cell. Where one end is heavy and the rest even, write heavy.",
    "A second judge, or a second day, gets the column grade_2; a third one grade_3.",
)

_TO_JUDGE = (
    (
        "Let the plate cool, and brush it off. Look at arm's length under the light in which the "
        "part will be seen; turn it once."
    ),
    (
        "Judge cell by cell in the order of the table, which is random on purpose. Grade "
        "evenness and strength, for marks lighter or darker than the plastic alike."
    ),
    *_WHOLE,
)

_TO_LOOK_CLOSELY = (
    (
        "Let the plate cool, and brush it off. Look with a magnifier, in light from the side. "
        "Marks may be lighter or darker than the plastic."
    ),
    *_WHOLE,
)

_TO_MEASURE = (
    "Measure each line three times with a calliper, and take the middle value.",
    "Write the length with its unit in the column measured, such as 49.85 mm.",
    (
        "Equal relative errors across and down mean a wrong scale. Unequal diagonals mean "
        "that the field is not square."
    ),
)

_TO_COMPARE = (
    (
        "Let the plate cool, and brush it off. Look at arm's length, and turn it once. Marks may "
        "be lighter or darker than the plastic."
    ),
    (
        "Write the letter of the square that is as strong into the column equals: C, or CD where "
        "it lies between the two. Write - where there is no mark."
    ),
    (
        "Compare the middle of the squares. Leave blank what is stronger than all letters, or what "
        "a photo is to tell: evenmark measure."
    ),
)

_BLADES = "Blades of grass: every row of a blade has the same span."

KIND_TEXTS: dict[CouponKind, KindTexts] = {
    CouponKind.POWER_SPEED: KindTexts(
        measures="which power goes with which speed",
        shows=_BLADES,
        look="Compare cells of one span: which powers at the two speeds look alike?",
    ),
    CouponKind.PITCH: KindTexts(
        measures="how close the rows may lie",
        shows=f"{_BLADES} Only the pitch differs from layer to layer.",
        look="Rows too close heat one another; rows too far apart show singly.",
    ),
    CouponKind.ROW_SPAN: KindTexts(
        measures="how strongly heat piles up in short rows",
        shows=f"{_BLADES} The shorter the rows, the sooner the beam is back.",
        look="Look for the power at which a narrow blade looks like a wide one of another layer.",
    ),
    CouponKind.TOGETHER_APART: KindTexts(
        measures="how much cooler shapes stay that share their rows",
        shows="Seeds: four side by side, swept together; three in a column, each swept alone.",
        look="Compare a seed of the row with a seed of the column in the same layer.",
    ),
    CouponKind.ONE_WAY_TWO_WAY: KindTexts(
        measures="what two-way rows do at their ends",
        shows=f"{_BLADES} Layers come in pairs: rows one-way, then two-way.",
        look="Look at the left and right ends of the wide blades; grade by the worst place.",
    ),
    CouponKind.BAR_DISTANCE: KindTexts(
        measures="how near a bar may stand to a part",
        shows="Small blades at the edges of the plate, each with a bar beside the plate. Odd "
        "numbers stand at the left edge, even ones at the right.",
        look="Look at the edge and the flank of the plate between blade and bar.",
        use="Set the clearance of equalize-width to the least distance that is even at both edges. "
        "Add to it off the middle of the field, where the beam leans.",
    ),
    CouponKind.TIP_WIDTH: KindTexts(
        measures="how wide a tip has to be",
        shows="Pointed leaves, cut off at a known width. The tip is marked last.",
        look="Look at the last two millimetres only.",
        use="Set narrower_than of inset-tips to the narrowest tip that is even.",
    ),
    CouponKind.SIZES: KindTexts(
        measures="what another size of one motif does",
        shows="The same sprig at several widths.",
        look="Which layer makes the small sprig look like the large one of another layer?",
    ),
    CouponKind.SPOT_BLEED: KindTexts(
        measures="how wide a line comes out, and which gap stays open",
        shows="Pairs of blocks with a gap of known width, and upright lines of known width.",
        look="Check that gaps are open, and that lines are whole and as wide as drawn.",
        use="evenmark fit takes the bleed from the gaps. Score lines that are narrower than the "
        "narrowest even one.",
    ),
    CouponKind.SCORE_DEPTH: KindTexts(
        measures="how deep a scored line goes",
        shows="Stems of three wavy lines each.",
        look="Feel with a fingernail, and look from the side.",
        use="Write power and speed of the best layer into the recipe, as settings: score.",
    ),
    CouponKind.RASTERED_INTERLEAVED: KindTexts(
        measures="if the mark follows the heat that piles up, or the spike under the beam",
        shows="The same tapering leaf, swept as a raster and marked in rounds, every k-th row "
        "first.",
        look="Is the tip of a swept leaf stronger than its wide part, and level in the other "
        "leaves? Which leaf in rounds is as strong as a swept one: that of the same power, or "
        "one of more? Do rounds show as lines, or did the surface rise between them?",
        use="Level tips, and more power needed: the mark follows the index, so interleave. The "
        "same strength at the same power, tips alike in both: it follows the spike, so "
        "interleaving gains nothing. Lines or a raised surface: mark in fewer rounds, or sweep.",
    ),
    CouponKind.OWN_ROWS: KindTexts(
        measures="which power rows of your own need that are marked in rounds",
        shows=f"{_BLADES} Rows are drawn as lines to score, every k-th row first.",
        look="Look for the power at which wide and narrow blades are even and no rows show.",
        use="Beside a power-speed coupon, evenmark fit writes the even power into the profile as "
        "own_rows: the heat of own rows then counts against that patch.",
    ),
    CouponKind.REPEATS: KindTexts(
        measures="what a second and a third sweep add",
        shows=f"{_BLADES} Layers differ in power and in how often they are marked.",
        look="Which power, marked twice or three times, looks like more power marked once?",
        use="Write repeats and power of the best layer into the recipe. The heat index hardly "
        "counts a repeat, so these grades tell nothing about it.",
    ),
    CouponKind.FIRST_ROW: KindTexts(
        measures="where your software lays the first row",
        shows="Ten columns: a bar, and strips a tenth of the pitch thick below it. From column to "
        "column they lie a tenth of the pitch lower, so that rows meet the strips of one only.",
        look="Which column is filled below its bar? A faint neighbour does not count.",
        use="Write first_row into the machine file: strips of interleave stand on it, and a wrong "
        "rule loses rows or marks them twice.",
    ),
    CouponKind.GREY_STEPS: KindTexts(
        measures="which power your software makes of a grey",
        shows="Ten squares of greys, from the lightest to black, beside squares of known power "
        "with letters.",
        look="Which lettered square is as strong as each numbered one? Cover the others.",
        use="Give the images the range of power that you will work with, and the settings of your "
        "work: one row a pixel, no dithering, no contrast. evenmark fit writes grey: into the "
        "machine file.",
    ),
    CouponKind.FOCUS_STEPS: KindTexts(
        measures="how far above and below the focus marks stay sharp",
        shows="The same bars and patch on 17 steps of a printed stair; the middle one is in focus.",
        look="Which steps are as sharp as the best one? Look at the gaps between the bars.",
        use="evenmark fit tells the band of sharp steps, and in_focus: for the part of the recipe.",
    ),
    CouponKind.BLADES: KindTexts(
        measures="how heat piles up from wide rows to short ones, in a photo",
        shows="Tapering blades, one to a power, and crosses by which a photo finds its place.",
        look="Lay the plate in the printed frame and take three photos. Grade a blade only if it "
        "is molten: it is then left out.",
        use="evenmark measure reads the photos, and evenmark fit learns from the tones.",
    ),
    CouponKind.FIELD_SCALE: KindTexts(
        measures="whether lengths come out as drawn, and square",
        shows="A scored frame with both diagonals. Card or board will do instead of a plate.",
        look="Measure between the corners.",
        use="The scale is the measured length over the drawn one: 56.7 mm for 57 mm is 99.5 %. "
        "Correct it in the machine's own field correction; a scaled drawing has other rows.",
    ),
}

SHARED_ROWS = (
    "The software of this machine sweeps all shapes of one colour together. So gaps and lines of "
    "this coupon share rows, which are longer than the cells."
)


def grading_instructions(kind: CouponKind) -> tuple[str, ...]:
    """Steps to measure or judge the cells, one sentence or two to an item."""
    if kind is CouponKind.FIELD_SCALE:
        return _TO_MEASURE
    if kind is CouponKind.GREY_STEPS:
        return _TO_COMPARE
    if kind is CouponKind.FOCUS_STEPS:
        return TO_JUDGE_SHARPNESS
    return _TO_LOOK_CLOSELY if kind in CLOSE_UP_GRADES else _TO_JUDGE


def coupon_cautions(*, bars: bool, known: bool) -> tuple[str, ...]:
    """Cautions of the sheet, with one each for bars and for an ungraded filament."""
    unknown = "This filament has no grades yet: be ready to stop at once."
    below = (
        "Bars strike whatever lies beside the plate: a matt sacrificial card, larger than all of "
        "them, never bare or polished metal."
    )
    return (
        "Only plastic that you know: maker, polymer and colour. Ask for the safety data sheet.",
        "Never chlorinated plastic (PVC, vinyl): it gives off hydrogen chloride.",
        "Fumes of marked plastic are harmful: extract at the plate, and filter.",
        *(() if known else (unknown,)),
        (
            "Start low: mark the layer with the least power first, look at it, and leave the rest "
            "out once one is molten. High powers are here to find the limit; they may burn."
        ),
        "Never leave the machine alone; keep what puts out a small fire within reach.",
        "Eyewear for this wavelength; enclosure closed, interlock working.",
        *((below,) if bars else ()),
        (
            "The machine's manual, local codes and licensed practice decide. No setting here is "
            "promised to be safe."
        ),
    )
