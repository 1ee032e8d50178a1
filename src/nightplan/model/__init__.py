# SPDX-License-Identifier: GPL-3.0-or-later
"""The project as frozen values; no clock, no files, no Qt."""
