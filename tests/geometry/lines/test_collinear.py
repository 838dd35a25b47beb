"""Lines that run along earlier ones."""

from shapely import LineString

from preprocess.geometry.lines.collinear import remove_collinear


def test_what_runs_along_a_line_that_is_wholly_removed_stays():
    """The third line lies within reach of the second only, of which nothing is left."""
    lines = [LineString([(0, y), (10, y)]) for y in (0.0, 0.08, 0.16)]
    found = remove_collinear(lines, 0.1)
    assert list(found) == [1]
    assert found[1].lines == ()
