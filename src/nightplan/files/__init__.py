# SPDX-License-Identifier: GPL-3.0-or-later
"""Reading and writing project files: whole or not at all."""
