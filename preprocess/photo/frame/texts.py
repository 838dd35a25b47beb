"""What stands on the frame's page: how to print it, how to take the photo, cautions."""

from __future__ import annotations

CHECK = "This line is 50 mm long. If not, print again at 100 %, not fitted to the page."
TO_PRINT = "Print at 100 % on plain white matt paper. Grey squares must differ from one another."

TO_PHOTOGRAPH = (
    "Lay the page flat and the part in the window, marked side up, about upright.",
    "Hold the camera straight above; all squares are to be seen, and fill the picture.",
    "Daylight from the side. No flash, no lamp mirrored in the plastic, no shadow of yours.",
    "Tap on the part to focus. Hold still.",
    "Take three photos, and lay the part anew for each.",
)

FRAME_CAUTIONS = (
    "Let the part cool, and let the fumes be drawn off, before you lift it out.",
    (
        "A photo measures tone. It never says that a setting is safe: extract and filter, stay "
        "with the machine; its manual and local codes decide."
    ),
)
