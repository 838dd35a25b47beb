"""The walk through the document: what is painted, where, in painter's order.

Tasks stand on a stack of our own, so that depth costs no recursion. Elements that need a walk of
their own (clips, masks, markers, patterns) are handed `Walker.run`.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.read.clip import clips
from preprocess.read.text import drawn
from preprocess.read.walk import containers, leaves
from preprocess.read.walk.entering import entered
from preprocess.read.walk.painted import Frame, Painted
from preprocess.read.xml.names import name_of, with_places

if TYPE_CHECKING:
    from collections.abc import Iterable

    from cssselect2 import ElementWrapper

    from preprocess.read.shapes.regions import Bounds
    from preprocess.read.walk.scene import Scene

Task = Painted | tuple["ElementWrapper", Frame, str]


class Walker:
    """Walks parts of one document."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene

    def run(self, tasks: Iterable[Task]) -> list[Painted]:
        """Carry out tasks in order; those that they give rise to come in their place."""
        found: list[Painted] = []
        stack = list(tasks)[::-1]
        while stack:
            task = stack.pop()
            if isinstance(task, Painted):
                found.append(task)
            else:
                stack.extend(reversed(self._visited(*task)))
        return found

    def _visited(self, element: ElementWrapper, frame: Frame, place: str) -> list[Task]:
        if not containers.is_drawn(self.scene, element, frame, name_of(element, frame, place)):
            return []
        inner = entered(
            self.scene, element, frame, place, bounds=lambda f: self.bounds(element, f, place)
        )
        if inner.hidden and not self.scene.wants_hidden:
            return []
        inner = clips.clipped(self, element, inner, place)
        return self.expanded(element, inner, place)

    def expanded(self, element: ElementWrapper, frame: Frame, place: str) -> list[Task]:
        """The tasks that an element that has been entered gives rise to."""
        tag = element.local_name
        if tag in leaves.TAGS:
            return leaves.painted(self, element, frame, place)
        if tag == "text":
            return drawn.painted(self, element, frame, place)
        return containers.expanded(self.scene, element, frame, place)

    def bounds(self, element: ElementWrapper, frame: Frame, place: str) -> Bounds | None:
        """The bounding box of an entered element's outlines in its own user units."""
        own = replace(
            frame,
            matrix=(1.0, 0.0, 0.0, 1.0, 0.0, 0.0),
            clip=None,
            quiet=True,
            silhouette=True,
            cells=True,
        )
        return clips.bounds_of(self.run(self.expanded(element, own, place)))

    def children(self, element: ElementWrapper, frame: Frame, place: str) -> list[Painted]:
        """Walk the children of an element."""
        return self.run([(child, frame, where) for child, where in with_places(element, place)])
