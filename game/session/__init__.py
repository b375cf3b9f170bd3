# SPDX-License-Identifier: MIT
"""What is under way and kept: rounds, heats, profiles, paces, records, class lists, settings."""
