# SPDX-License-Identifier: MIT
"""The window and its loop: what waits for events, and what hands them to the page in view."""
