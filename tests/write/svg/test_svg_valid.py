"""Every SVG that we write is valid SVG 1.1 by the standard's own document type definition.

The definition comes with the package w3c-sgml-lib of Debian; without it these tests are skipped.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from lxml import etree

ROOT = Path(__file__).parents[3]
DTD = Path("/usr/share/xml/w3c-sgml-lib/schema/dtd/REC-SVG11-20110816/svg11.dtd")
WRITTEN = sorted(
    path
    for pattern in (
        "fixtures/jobs/*/*.laser.svg",
        "fixtures/jobs/*/*.overlay.svg",
        "fixtures/passes/*/*/out.svg",
        "fixtures/coupons/**/*.svg",
        "fixtures/walkthrough/*.svg",
        "docs/use/pictures/*.svg",
        "docs/reference/passes/pictures/*.svg",
    )
    for path in ROOT.glob(pattern)
)


@pytest.fixture(scope="module")
def definition():
    if not DTD.is_file():
        pytest.skip("install w3c-sgml-lib for the definition of SVG 1.1")
    return etree.DTD(str(DTD))


def complaints(definition, data: bytes) -> list[str]:
    root = etree.fromstring(data)
    return [] if definition.validate(root) else [str(error) for error in definition.error_log]


@pytest.mark.parametrize("path", WRITTEN, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_it_is_valid(definition, path):
    assert complaints(definition, path.read_bytes()) == []


def test_what_is_not_valid_is_found(definition):
    leaf = b'<svg xmlns="http://www.w3.org/2000/svg"><leaf/></svg>'
    assert complaints(definition, leaf)
    stray = b'<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0" colour="red"/></svg>'
    assert complaints(definition, stray)
