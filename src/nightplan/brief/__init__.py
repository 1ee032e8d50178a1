# SPDX-License-Identifier: GPL-3.0-or-later
"""Rules of a brief, what files really are, and whether the one keeps the other."""
