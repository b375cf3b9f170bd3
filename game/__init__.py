# SPDX-License-Identifier: MIT
"""Stavewise: note-reading practice on a real grand staff."""

__version__ = "0.1.0"
