# SPDX-License-Identifier: MIT
"""One script for each form of the store, numbered as the forms are."""
