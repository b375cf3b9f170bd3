# SPDX-License-Identifier: MIT
"""The teacher's screens: classes, a heat's choices and keyboards, the heat itself, its result."""
