"""Texts of the reader's findings, worst first.

"[one path is|{count} paths are]" gives the form for one element and for several.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from preprocess.findings import Severity

_NUMBER = re.compile(r"\[([^|\]]*)\|([^\]]*)\]")


@dataclass(frozen=True, slots=True)
class RemarkText:
    """Sentence, remedy and severity of one kind of remark."""

    sentence: str
    remedy: str
    severity: Severity = Severity.WARN

    def message(self, count: int | str) -> str:
        """The sentence for a number of elements."""
        form = 1 if count == 1 else 2
        return _NUMBER.sub(lambda found: found[form], self.sentence).format(count=count)


_STOPS = {
    "text-needs-extra": RemarkText(
        "[one text|{count} texts] cannot be drawn: the libraries that shape text are missing",
        "pip install 'evenmark[text]', or convert text to paths in the drawing program",
    ),
    "font-missing": RemarkText(
        "[one text asks for a font that is|{count} texts ask for fonts that are] missing",
        "put the font's file into a folder and name it in the recipe (fonts: {folder: …}), allow "
        "another font (fonts: {substitute: …}), or convert the text to paths",
    ),
    "letter-missing": RemarkText(
        "[one text has letters that its font lacks|{count} texts have letters that their fonts "
        "lack]",
        "choose a font that has them, name a substitute (fonts: {substitute: …}), or convert the "
        "text to paths",
    ),
    "text-too-wide": RemarkText(
        "[one text is|{count} texts are] too wide even at the smallest size that the recipe allows",
        "shorten it, or change the width or the smallest size in text: fit of the recipe",
    ),
}

_WARNINGS = {
    "font-substituted": RemarkText(
        "[one text is|{count} texts are] drawn in the recipe's substitute: the font is missing",
        "look at the result: letters, widths and line ends may differ",
    ),
    "font-alike": RemarkText(
        "[one text is|{count} texts are] drawn in a font of the same widths: the font is missing",
        "look at the result: letters differ, line ends stay",
    ),
    "font-alternative": RemarkText(
        "[one text is drawn in a later font of its list: the first is|{count} texts are drawn in "
        "later fonts of their lists: the first are] missing",
        "look at the result, or put the font's file into the recipe's folder of fonts",
    ),
    "font-lacks-style": RemarkText(
        "[one text is|{count} texts are] drawn lighter or more upright than asked: the font family "
        "has no such face",
        "add the face to the recipe's folder of fonts, or choose a family that has it",
    ),
    "text-beyond-path": RemarkText(
        "[one text runs|{count} texts run] beyond the end of the path; letters there are not drawn",
        "make the path longer, or the text smaller",
    ),
    "text-style-ignored": RemarkText(
        "[one text has a setting|{count} texts have settings] that evenmark ignores",
        "look at the result, or convert the text to paths",
    ),
    "font-unreadable": RemarkText(
        "[one file|{count} files] in the folder of fonts cannot be read as [a font|fonts]",
        "replace it, or take it out of the folder",
    ),
    "image-left-out": RemarkText(
        "[one image is|{count} images are] left out",
        "embed it as PNG, JPEG, GIF or WebP by itself, or trace it to paths",
    ),
    "image-kept": RemarkText(
        "[one image is|{count} images are] carried through untouched on the layer 'images'; "
        "no prediction counts [it|them]",
        "a photograph is another job: give that layer settings of its own in the laser software, "
        "or leave it out with drawing: {images: drop}",
    ),
    "image-not-grey": RemarkText(
        "[one image cannot be marked by its|{count} images cannot be marked by their] greys",
        "save it as a PNG of 8-bit greys, white where nothing is marked, without transparency",
    ),
    "image-uncropped": RemarkText(
        "[one image is|{count} images are] carried through whole, although the drawing crops "
        "[it|them]",
        "crop its pixels in the drawing program",
    ),
    "image-opaque": RemarkText(
        "[one image is carried through without its|{count} images are carried through without "
        "their] transparency",
        "make its pixels lighter instead",
    ),
    "foreign-content-left-out": RemarkText(
        "[one foreignObject is|{count} foreignObjects are] left out",
        "draw its content with SVG shapes",
    ),
    "geometry-left-out": RemarkText(
        "[one shape stands|{count} shapes stand] where SVG draws none, and [is|are] left out",
        "move it into a group, in the namespace http://www.w3.org/2000/svg",
    ),
    "unknown-element": RemarkText(
        "[one element is|{count} elements are] unknown to SVG and left out",
        "check the spelling, or export again as plain SVG",
    ),
    "broken-path": RemarkText(
        "[one path is|{count} paths are] damaged and drawn only up to the damage",
        "repair or redraw it",
    ),
    "bad-value": RemarkText(
        "[one element has an unreadable value, which is|{count} elements have unreadable values, "
        "which are] ignored",
        "correct the value",
    ),
    "broken-reference": RemarkText(
        "[one reference has no target and is|{count} references have no targets and are] skipped",
        "correct the id, or export again with everything in one file",
    ),
    "outside-reference": RemarkText(
        "[one reference to another file is|{count} references to other files are] skipped: "
        "evenmark opens no file that a drawing names",
        "embed the file in the drawing",
    ),
    "use-cycle": RemarkText(
        "[one use contains itself and is|{count} uses contain themselves and are] skipped",
        "unlink the copy from its original",
    ),
    "too-many-copies": RemarkText(
        "[one element exceeds|{count} elements exceed] the limit of copies; further copies are "
        "left out",
        "use fewer copies, or split the drawing",
    ),
    "filter-ignored": RemarkText(
        "[one filter is|{count} filters are] ignored: the [element is|elements are] drawn without "
        "[it|them]",
        "remove the effect, or draw its result as shapes",
    ),
    "blend-ignored": RemarkText(
        "[one element is|{count} elements are] drawn without [its blend mode|their blend modes]",
        "look at the result; draw it as shapes without mix-blend-mode",
    ),
    "animation-ignored": RemarkText(
        "[one element begins|{count} elements begin] otherwise in [its animation|their animations] "
        "than drawn; read as drawn",
        "look at the result; for a moment of the animation, export it as a still drawing",
    ),
    "blended-away": RemarkText(
        "[one element blends|{count} elements blend] into the page and what lies under [it|them], "
        "and [is|are] not marked",
        "set mix-blend-mode: normal to mark it",
    ),
    "mask-ignored": RemarkText(
        "[one mask has|{count} masks have] grey shades and [is|are] ignored: the [element is|"
        "elements are] drawn whole",
        "make the mask pure black and white, or clip with a path",
    ),
    "clip-without-area": RemarkText(
        "[one clip path has|{count} clip paths have] no area: the clipped [element disappears|"
        "elements disappear]",
        "check the clip path",
    ),
    "gradient-as-solid": RemarkText(
        "[one gradient counts as one solid area|{count} gradients count as solid areas]",
        "accept one even mark, or write shades: {bands: 4} or shades: {threshold: 50 %} in the "
        "recipe; lines stay solid unless they are drawn as areas",
    ),
    "too-many-shades": RemarkText(
        "[one gradient repeats too often and counts as one solid area|{count} gradients repeat too "
        "often and count as solid areas]",
        "let it repeat less often",
    ),
    "shade-too-light": RemarkText(
        "[one area is|{count} areas are] lighter than the recipe's shades and not marked",
        "draw it darker, or change shades: in the recipe",
    ),
    "pattern-cap": RemarkText(
        "[one pattern has too many tiles; its whole area counts|{count} patterns have too many "
        "tiles; their whole areas count] as solid",
        "use larger tiles, or draw the pattern as shapes",
    ),
    "too-many-dashes": RemarkText(
        "[one dashed line has too many dashes and counts|{count} dashed lines have too many dashes "
        "and count] as solid",
        "use longer dashes",
    ),
    "beyond-page": RemarkText(
        "[one element reaches|{count} elements reach] beyond the page; only the part on the page "
        "is marked",
        "move it onto the page, or enlarge the page",
    ),
    "style-import-ignored": RemarkText(
        "[one style sheet|{count} style sheets] outside the drawing [is|are] ignored",
        "write the styles into the drawing",
    ),
    "style-rule-ignored": RemarkText(
        "[one style sheet has a rule|{count} style sheets have rules] with a condition that "
        "evenmark cannot test; the [rule is|rules are] ignored",
        "write the styles without conditions",
    ),
    "too-faint": RemarkText(
        "[one element is|{count} elements are] fainter than the recipe's faintest and not marked",
        "make it more opaque, or set drawing: {faintest: …} in the recipe",
    ),
    "nearly-page-colour": RemarkText(
        "[one element has|{count} elements have] almost the colour of the page, and [is|are] "
        "marked like any other",
        "to take it for the page, write drawing: {page_within: …} in the recipe, with the share "
        "given here",
    ),
}

_NOTES = {
    "gradient-in-bands": RemarkText(
        "[one gradient is|{count} gradients are] cut into bands of their own power",
        "set another number under shades: in the recipe if they are too coarse",
    ),
    "gradient-cut": RemarkText(
        "[one gradient is|{count} gradients are] marked only where dark enough",
        "set another threshold under shades: in the recipe if too little is left",
    ),
    "text-outlined": RemarkText(
        "[one text|{count} texts] became outlines",
        "check the fonts",
    ),
    "text-shrunk": RemarkText(
        "[one text is|{count} texts are] drawn smaller, to the width that the recipe allows",
        "shorten it if letters get too fine to mark",
    ),
    "style-value-ignored": RemarkText(
        "[one element has an unreadable style|{count} elements have unreadable styles], which "
        "evenmark ignores",
        "write plain numbers, lengths, colours and words",
    ),
    "flat-shape": RemarkText(
        "[one element draws|{count} elements draw] nothing: the transform makes [it|them] flat",
        "check the transform",
    ),
    "open-filled-path": RemarkText(
        "[one filled path is open; the fill closes it|{count} filled paths are open; the fill "
        "closes them] with a straight edge",
        "close it in the drawing program if the edge is not meant",
    ),
    "image-dropped": RemarkText(
        "[one image is|{count} images are] left out, as the recipe says",
        "write drawing: {images: keep} to carry it through",
    ),
    "see-through": RemarkText(
        "[one element is partly transparent and is marked like a solid one|{count} elements are "
        "partly transparent and are marked like solid ones]",
        "give it its own layer with its own power for a weaker mark",
    ),
    "page-colour": RemarkText(
        "[one element in the colour of the page has nothing under it and is|{count} elements in "
        "the colour of the page have nothing under them and are] not marked",
        "give it another colour to mark it, or set drawing: {page_colour: …}",
    ),
    "covered": RemarkText(
        "[one element is|{count} elements are] wholly covered by paint in the colour of the page "
        "and not marked",
        "delete it, or bring it to the front",
    ),
    "hidden": RemarkText(
        "[one element is|{count} elements are] hidden and not marked",
        "show it to mark it",
    ),
    "not-for-this-reader": RemarkText(
        "[one element is|{count} elements are] meant for another language or program and not "
        "marked",
        "",
    ),
    "draws-nothing": RemarkText(
        "[one element draws|{count} elements draw] nothing",
        "give it a size, points, a fill or a stroke",
    ),
}

REMARK_TEXTS = {
    kind: replace(text, severity=severity)
    for severity, table in (
        (Severity.STOP, _STOPS),
        (Severity.WARN, _WARNINGS),
        (Severity.NOTE, _NOTES),
    )
    for kind, text in table.items()
}
