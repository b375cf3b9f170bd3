# SPDX-License-Identifier: MIT
"""``python -m game`` does what ``stavewise`` does."""

import sys

from game.cli import main

if __name__ == "__main__":
    sys.exit(main())
