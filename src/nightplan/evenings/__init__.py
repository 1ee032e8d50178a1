# SPDX-License-Identifier: GPL-3.0-or-later
"""From patterns, zones and calendars to dated evenings; no clock is read here."""
