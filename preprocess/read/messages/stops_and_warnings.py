"""What the reader may have to say about elements of a drawing, worst first."""

from __future__ import annotations

from preprocess.read.messages.notes import NOTES
from preprocess.read.messages.template import RemarkText

_GRAVE = {
    "text-needs-extra": RemarkText(
        "stop",
        "one text cannot be drawn, because what shapes text is not installed",
        "{count} texts cannot be drawn, because what shapes text is not installed",
        "pip install 'evenmark[text]', or convert text to paths in the drawing program",
    ),
    "font-missing": RemarkText(
        "stop",
        "one text asks for a font that is not at hand",
        "{count} texts ask for fonts that are not at hand",
        "put the font's file into a folder and name it in the recipe (fonts: {folder: …}), allow "
        "another font (fonts: {substitute: …}), or convert the text to paths",
    ),
    "letter-missing": RemarkText(
        "stop",
        "one text has letters that its font does not have",
        "{count} texts have letters that their fonts do not have",
        "choose a font that has them, allow another for what is missing (fonts: {substitute: …}), "
        "or convert the text to paths",
    ),
    "text-too-wide": RemarkText(
        "stop",
        "one text is wider than the recipe allows, even drawn as small as it may be",
        "{count} texts are wider than the recipe allows, even drawn as small as they may be",
        "shorten it, or change text: fit in the recipe, its width or its smallest size",
    ),
    "font-substituted": RemarkText(
        "warn",
        "one text is drawn in the recipe's substitute, since its font is not at hand",
        "{count} texts are drawn in the recipe's substitute, since their fonts are not at hand",
        "look at the result: letters, widths and line ends may differ",
    ),
    "font-alternative": RemarkText(
        "warn",
        "one text is drawn in a later font of its list, since the first is not at hand",
        "{count} texts are drawn in later fonts of their lists, since the first are not at hand",
        "look at the result, or put the font's file into the recipe's folder of fonts",
    ),
    "font-lacks-style": RemarkText(
        "warn",
        "one text is drawn lighter or more upright than asked, since its family has no such face",
        "{count} texts are drawn lighter or more upright than asked, since their families have no "
        "such faces",
        "add the face to the recipe's folder of fonts, or choose a family that has it",
    ),
    "text-beyond-path": RemarkText(
        "warn",
        "one text has letters beyond the end of its path, which are not drawn",
        "{count} texts have letters beyond the ends of their paths, which are not drawn",
        "make the path longer, or the text smaller",
    ),
    "text-style-ignored": RemarkText(
        "warn",
        "one text has a setting that is not followed",
        "{count} texts have settings that are not followed",
        "look at the result, or convert the text to paths",
    ),
    "font-unreadable": RemarkText(
        "warn",
        "one file in the folder of fonts cannot be read as a font",
        "{count} files in the folder of fonts cannot be read as fonts",
        "replace it, or take it out of the folder",
    ),
    "image-left-out": RemarkText(
        "warn",
        "one image is left out",
        "{count} images are left out",
        "embed it as PNG, JPEG, GIF or WebP by itself, or trace it to paths",
    ),
    "image-kept": RemarkText(
        "warn",
        "one image is carried through untouched, on the layer 'images'; no prediction counts it",
        "{count} images are carried through untouched, on the layer 'images'; no prediction counts "
        "them",
        "a photograph is another job: give that layer settings of its own in the laser software, "
        "or leave it out with drawing: {images: drop}",
    ),
    "image-uncropped": RemarkText(
        "warn",
        "one image is carried through whole, although the drawing shows only a part of it",
        "{count} images are carried through whole, although the drawing shows only parts of them",
        "crop its pixels in the drawing program",
    ),
    "image-opaque": RemarkText(
        "warn",
        "one image is carried through without its transparency",
        "{count} images are carried through without their transparency",
        "make its pixels lighter instead",
    ),
    "foreign-content-left-out": RemarkText(
        "warn",
        "one foreignObject is left out",
        "{count} foreignObjects are left out",
        "draw its content with SVG shapes",
    ),
    "unknown-element": RemarkText(
        "warn",
        "one element that SVG does not know is left out",
        "{count} elements that SVG does not know are left out",
        "check the spelling, or export again as plain SVG",
    ),
    "broken-path": RemarkText(
        "warn",
        "one path is damaged and drawn only up to the damage",
        "{count} paths are damaged and drawn only up to the damage",
        "repair or redraw it",
    ),
    "bad-value": RemarkText(
        "warn",
        "one element has a value that cannot be read and counts as missing",
        "{count} elements have values that cannot be read and count as missing",
        "correct the value",
    ),
    "broken-reference": RemarkText(
        "warn",
        "one reference leads nowhere and is skipped",
        "{count} references lead nowhere and are skipped",
        "correct the id, or export again with everything in one file",
    ),
    "outside-reference": RemarkText(
        "warn",
        "one reference to another file is skipped: paths that a drawing names are never opened",
        "{count} references to other files are skipped: paths that a drawing names are never "
        "opened",
        "embed what they refer to",
    ),
    "use-cycle": RemarkText(
        "warn",
        "one use contains itself and is skipped",
        "{count} uses contain themselves and are skipped",
        "unlink the copy from its original",
    ),
    "too-many-copies": RemarkText(
        "warn",
        "one element would be copied too often and is left out from there on",
        "{count} elements would be copied too often and are left out from there on",
        "use fewer copies, or split the drawing",
    ),
    "filter-ignored": RemarkText(
        "warn",
        "one filter is ignored: the element is drawn without it",
        "{count} filters are ignored: the elements are drawn without them",
        "remove the effect, or draw what it shows as shapes",
    ),
    "mask-ignored": RemarkText(
        "warn",
        "one mask is ignored, because it has shades: the element is drawn whole",
        "{count} masks are ignored, because they have shades: the elements are drawn whole",
        "make the mask pure black and white, or clip with a path",
    ),
    "clip-without-area": RemarkText(
        "warn",
        "one clip path has no area: nothing of the element is left",
        "{count} clip paths have no area: nothing of the elements is left",
        "check the clip path",
    ),
    "gradient-as-solid": RemarkText(
        "warn",
        "one gradient counts as one solid area",
        "{count} gradients count as solid areas",
        "accept one even mark, or write shades: {bands: 4} or shades: {threshold: 50 %} in the "
        "recipe; lines stay solid unless they are drawn as areas",
    ),
    "too-many-shades": RemarkText(
        "warn",
        "one gradient repeats too often to be cut and counts as one solid area",
        "{count} gradients repeat too often to be cut and count as solid areas",
        "let it repeat less often",
    ),
    "shade-too-light": RemarkText(
        "warn",
        "one area is lighter than the recipe's shades and is not marked",
        "{count} areas are lighter than the recipe's shades and are not marked",
        "draw it darker, or change shades: in the recipe",
    ),
    "pattern-cap": RemarkText(
        "warn",
        "one pattern has too many tiles; its whole area counts as solid",
        "{count} patterns have too many tiles; their whole areas count as solid",
        "use larger tiles, or draw the pattern as shapes",
    ),
    "too-many-dashes": RemarkText(
        "warn",
        "one dashed line has too many dashes and counts as solid",
        "{count} dashed lines have too many dashes and count as solid",
        "use longer dashes",
    ),
    "beyond-page": RemarkText(
        "warn",
        "one element reaches beyond the page; what lies outside is not shown, nor marked",
        "{count} elements reach beyond the page; what lies outside is not shown, nor marked",
        "move it onto the page, or enlarge the page",
    ),
    "style-import-ignored": RemarkText(
        "warn",
        "one style sheet outside the drawing is ignored",
        "{count} style sheets outside the drawing are ignored",
        "write the styles into the drawing",
    ),
    "style-rule-ignored": RemarkText(
        "warn",
        "one rule of a style sheet is ignored, because nothing tells whether it holds",
        "{count} style sheets have rules that are ignored, because nothing tells whether they hold",
        "write the styles without conditions",
    ),
    "too-faint": RemarkText(
        "warn",
        "one element is fainter than the recipe's faintest and is not marked",
        "{count} elements are fainter than the recipe's faintest and are not marked",
        "make it more opaque, or set drawing: {faintest: …} in the recipe",
    ),
}

REMARK_TEXTS = {**_GRAVE, **NOTES}
