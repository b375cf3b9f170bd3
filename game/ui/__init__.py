# SPDX-License-Identifier: MIT
"""What pages are made of: canvas, theme, rows, buttons, fields, and the focus on them."""
