# SPDX-License-Identifier: MIT
"""Pages of a reader: who reads, the ladder, progress, settings, help."""
