# SPDX-License-Identifier: MIT
"""Words, dates and per cents as a person reads them, with the mark for translation."""
