# SPDX-License-Identifier: GPL-3.0-or-later
"""Hours, order, the walk, odds, buffer, drivers, ways back, looking back."""
