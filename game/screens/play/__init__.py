# SPDX-License-Identifier: MIT
"""Pages of a round: reading, in time, its result, its replay."""
