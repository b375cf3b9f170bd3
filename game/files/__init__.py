# SPDX-License-Identifier: MIT
"""Where the game's own files lie, and files that only their owner reads."""
