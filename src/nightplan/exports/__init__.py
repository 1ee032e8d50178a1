# SPDX-License-Identifier: GPL-3.0-or-later
"""Pictures, papers, tables and calendars of a project; nothing here is computed anew."""
