# SPDX-License-Identifier: MIT
"""What is run by hand, with the tests' modules: ``python tests/studies NAME [ARGUMENTS]``.

NAME is a file of this folder, as ``fuzz_pieces`` or ``benchmarks/speed``.
"""

from __future__ import annotations

import runpy
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent

if __name__ == "__main__":
    names = {str(p.relative_to(HERE).with_suffix("")) for p in HERE.rglob("[!_]*.py")}
    if len(sys.argv) < 2 or sys.argv[1] not in names:
        sys.exit("python tests/studies NAME: " + ", ".join(sorted(names)))
    rooms = [HERE.parent / "support", HERE, HERE / "benchmarks", HERE.parent / "system"]
    sys.path[:0] = [str(HERE.parents[1]), *map(str, rooms)]
    del sys.argv[0]
    runpy.run_path(str(HERE / f"{sys.argv[0]}.py"), run_name="__main__")
