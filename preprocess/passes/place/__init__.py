"""place: scales, turns and centres the drawing, and copies it over a tray."""

from preprocess.passes.place.pass_ import PlaceDrawing

__all__ = ["PlaceDrawing"]
