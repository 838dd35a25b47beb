"""Marks of grades: told apart by form, in black on white."""

from __future__ import annotations

from preprocess.preview.drawing.canvas import INK, Paint, mm, path

GRADE_SYMBOLS = ("weak", "even", "heavy", "molten")
_R = 1.1
_OPEN = Paint(fill="#ffffff", stroke=INK, width=0.3)
_FULL = Paint(fill=INK, stroke=INK, width=0.3)


def grade_symbol(x: float, y: float, grade: int) -> list[str]:
    """A mark: weak an open ring, even a full disc, heavy an open square, molten a full square."""
    if grade in {0, 1}:
        ring = f"a{_R} {_R} 0 1 1 {mm(2 * _R)} 0 a{_R} {_R} 0 1 1 {mm(-2 * _R)} 0 Z"
        return path(f"M{mm(x - _R)} {mm(y)} {ring}", _FULL if grade else _OPEN)
    side = mm(2 * _R)
    square = f"M{mm(x - _R)} {mm(y - _R)} h{side} v{side} h-{side} Z"
    return path(square, _FULL if grade == len(GRADE_SYMBOLS) - 1 else _OPEN)
