# SPDX-License-Identifier: MIT
"""What is printed: worksheets, flash cards and samples of a level, as values, then as files."""
