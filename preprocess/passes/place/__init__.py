"""place: scales, turns and centres the drawing, and copies it over a tray."""

from preprocess.passes.place.place import PlaceDrawing

__all__ = ["PlaceDrawing"]
