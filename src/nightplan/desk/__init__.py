# SPDX-License-Identifier: GPL-3.0-or-later
"""The desktop program: the only place that knows Qt."""

from nightplan.desk.toolkit import spare_the_sources

spare_the_sources()
