"""What a command imports before it works."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

FERN = Path(__file__).parents[2] / "fixtures" / "jobs" / "fern" / "fern.yaml"
LOADED = """
import sys
sys.argv = ["evenmark", "run", sys.argv[1], "-o", "-", "--no-heat", "--quiet"]
from preprocess.cli.app import main
try:
    main()
finally:
    print(*sorted(name for name in sys.modules if name.startswith("scipy")), file=sys.stderr)
"""


def test_a_run_without_heat_imports_no_scipy():
    done = subprocess.run(
        [sys.executable, "-c", LOADED, str(FERN)], capture_output=True, text=True, check=True
    )
    assert done.stdout.endswith("</svg>\n")
    assert done.stderr.splitlines()[-1] == ""
