"""What the reader may have to say about elements of a drawing and that spoils nothing."""

from __future__ import annotations

from preprocess.read.messages.template import RemarkText

NOTES = {
    "gradient-in-bands": RemarkText(
        "note",
        "one gradient is cut into bands of their own power",
        "{count} gradients are cut into bands of their own power",
        "set another number under shades: in the recipe if they are too coarse",
    ),
    "gradient-cut": RemarkText(
        "note",
        "one gradient is marked only where it is dark enough",
        "{count} gradients are marked only where they are dark enough",
        "set another threshold under shades: in the recipe if too little is left",
    ),
    "text-outlined": RemarkText(
        "note",
        "one text became outlines",
        "{count} texts became outlines",
        "check that these are the fonts that you meant",
    ),
    "text-shrunk": RemarkText(
        "note",
        "one text is drawn smaller, so that it is as wide as the recipe allows",
        "{count} texts are drawn smaller, so that they are as wide as the recipe allows",
        "shorten it if letters get too fine to mark",
    ),
    "style-value-ignored": RemarkText(
        "note",
        "one element has a style that cannot be read and counts as not written",
        "{count} elements have styles that cannot be read and count as not written",
        "write plain numbers, lengths, colours and words",
    ),
    "flat-shape": RemarkText(
        "note",
        "one element is squeezed to nothing by its transform and draws nothing",
        "{count} elements are squeezed to nothing by their transforms and draw nothing",
        "check the transform",
    ),
    "open-filled-path": RemarkText(
        "note",
        "one filled path is open; the fill closes it with a straight edge",
        "{count} filled paths are open; the fill closes them with a straight edge",
        "close it in the drawing program if the edge is not meant",
    ),
    "image-dropped": RemarkText(
        "note",
        "one image is left out, as the recipe says",
        "{count} images are left out, as the recipe says",
        "write drawing: {images: keep} to carry it through",
    ),
    "see-through": RemarkText(
        "note",
        "one element is partly transparent and is marked like a solid one",
        "{count} elements are partly transparent and are marked like solid ones",
        "give it its own layer with its own power if it is meant to be weaker",
    ),
    "nearly-page-colour": RemarkText(
        "note",
        "one element has almost the colour of the page, and is marked like any other",
        "{count} elements have almost the colour of the page, and are marked like any other",
        "give it just the colour of the page if it is to take away what lies under it",
    ),
    "page-colour": RemarkText(
        "note",
        "one element in the colour of the page has nothing under it and is not marked",
        "{count} elements in the colour of the page have nothing under them and are not marked",
        "give it another colour if it is to be marked, or set drawing: {page_colour: …}",
    ),
    "covered": RemarkText(
        "note",
        "one element is wholly covered by paint in the colour of the page and is not marked",
        "{count} elements are wholly covered by paint in the colour of the page and are not marked",
        "delete it, or bring it to the front",
    ),
    "hidden": RemarkText(
        "note",
        "one element is hidden and is not marked",
        "{count} elements are hidden and are not marked",
        "show it if it is to be marked",
    ),
    "not-for-this-reader": RemarkText(
        "note",
        "one element is meant for another language or program and is not marked",
        "{count} elements are meant for another language or program and are not marked",
        "",
    ),
    "draws-nothing": RemarkText(
        "note",
        "one element draws nothing",
        "{count} elements draw nothing",
        "give it a size, points, a fill or a stroke",
    ),
}
