"""Writers of small STL and 3MF files for tests, sharing nothing with the readers."""

from __future__ import annotations

import io
import struct
import zipfile

import numpy as np

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
RELATIONSHIPS = (
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Id="r" Target="/3D/label.model" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>'
)
_QUADS = ((0, 3, 2, 1), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7))


def box(x0, y0, z0, x1, y1, z1):
    """Twelve triangles of a box, facing outward."""
    low = [(x0, y0, z0), (x1, y0, z0), (x1, y1, z0), (x0, y1, z0)]
    corners = np.array([*low, *((x, y, z1) for x, y, _ in low)], float)
    faces = [(q[0], q[i], q[i + 1]) for q in _QUADS for i in (1, 2)]
    return corners[np.array(faces)]


def binary(triangles, head=b"label"):
    body = b"".join(
        struct.pack("<12fH", 0, 0, 0, *np.ravel(one).tolist(), 0) for one in np.asarray(triangles)
    )
    return head.ljust(80) + struct.pack("<I", len(triangles)) + body


def text(triangles):
    lines = ["solid label"]
    for one in triangles:
        lines += ["facet normal 0 0 0", "outer loop"]
        lines += [f"vertex {x:.9e} {y:.9e} {z:.9e}" for x, y, z in one]
        lines += ["endloop", "endfacet"]
    return "\n".join([*lines, "endsolid label", ""]).encode()


def mesh(triangles):
    corners, numbers = np.unique(np.reshape(triangles, (-1, 3)), axis=0, return_inverse=True)
    points = "".join(f'<vertex x="{x:.9g}" y="{y:.9g}" z="{z:.9g}"/>' for x, y, z in corners)
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in numbers.reshape(-1, 3))
    return f"<mesh><vertices>{points}</vertices><triangles>{faces}</triangles></mesh>"


def solid(number, inner, name="", kind="model"):
    return f'<object id="{number}" name="{name}" type="{kind}">{inner}</object>'


def item(number, transform=None, more=""):
    said = "" if transform is None else f' transform="{transform}"'
    return f'<item objectid="{number}"{said} {more}/>'


def document(objects, items, unit="millimeter", more=""):
    return (
        f'<model unit="{unit}" xmlns="{CORE}" xmlns:p="{PRODUCTION}" {more}>'
        f"<resources>{objects}</resources><build>{items}</build></model>"
    )


def package(model, **others):
    """A 3MF; `others` are further parts, `__` in their names standing for a slash."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("_rels/.rels", RELATIONSHIPS)
        archive.writestr("3D/label.model", model)
        for name, what in others.items():
            archive.writestr(name.replace("__", "/") + ".model", what)
    return held.getvalue()
