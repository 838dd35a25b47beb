"""A part for tests, of boxes with known sizes: a plate with a rib on it."""

from __future__ import annotations

import numpy as np

from preprocess.model.bench.machine import Machine
from preprocess.model.bench.part import Part
from preprocess.read.mesh.mesh_data import Mesh, MeshBody
from preprocess.read.part.part_relief import part_model
from tests.read.mesh.mesh_files import box

RIBBED = np.concatenate([box(0, 0, 0, 60, 30, 3), box(40, 10, 1, 42, 20, 3.8)])
"""A plate of 60 × 30 × 3 mm with a rib of 2 × 10 mm that stands 0.8 mm over it."""

MACHINE = Machine(
    name="bench galvo", field=(110.0, 80.0), spot=0.06, wavelength=0.001064, focal_length=160.0
)


def seen(triangles=RIBBED, machine=None, **keys):
    mesh = Mesh(bodies=(MeshBody("plate", triangles),), unit=None)
    return part_model(mesh, Part(model="label.stl", **keys), machine, "label.stl")


def told(model, code):
    return [one.message for one in model.findings if one.code == code]
