"""Ids and labels of a drawing are text in every output: no markup, no steering of terminals."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

if TYPE_CHECKING:
    from pathlib import Path

EVIL = "<script>alert(1)</script>&quot;'\u202eb\u0085"
WRITTEN = EVIL.replace("<", "&lt;").replace(">", "&gt;")
DRAWING = f"""<svg xmlns="http://www.w3.org/2000/svg" xmlns:e="urn:editor"
 width="40mm" height="20mm" viewBox="0 0 40 20"><title>{WRITTEN}</title>
<g e:label="{WRITTEN}" id="{WRITTEN}1"><rect id="{WRITTEN}2" width="9" height="9" class="x"/>
<path id="{WRITTEN}3" d="M0 0L5 x"/><leaf id="{WRITTEN}4"/></g></svg>"""
RECIPE = """\
recipe: 1
layers:
  - {name: "<script>alert(2)</script>", operation: engrave, choose: {select: .x}}
settings: {engrave: {power: 50 %, speed: 500 mm/s, pitch: 0.1 mm}}
"""


def test_ids_and_labels_stay_text(tmp_path: Path):
    (tmp_path / "label.svg").write_text(DRAWING, "utf-8")
    (tmp_path / "label.yaml").write_text(RECIPE, "utf-8")
    outputs = ("-o", "o.svg", "--overlay", "v.svg", "--sheet", "s.html", "--report", "r.json")
    done = subprocess.run(
        [sys.executable, "-m", "preprocess", "run", "label.yaml", "label.svg", "-v", *outputs],
        cwd=tmp_path,
        capture_output=True,
        check=False,
        timeout=100,
    )
    told = done.stderr.decode("utf-8")
    assert done.returncode == 0, told
    assert "\\u202e" in told
    assert not {"\u202e", "\u0085", "\x1b"} & set(told)
    for name in ("o.svg", "v.svg", "s.html"):
        text = (tmp_path / name).read_text("utf-8")
        assert "<script>alert" not in text.lower(), name
        assert text.lower().count("<script") == (name == "s.html"), name  # the sheet's own
    for name in ("o.svg", "v.svg"):
        tags = {node.tag.rpartition("}")[2] for node in ET.parse(tmp_path / name).iter()}
        assert "script" not in tags
