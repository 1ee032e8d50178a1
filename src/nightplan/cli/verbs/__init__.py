# SPDX-License-Identifier: GPL-3.0-or-later
"""One module a verb: ``HELP``, ``arguments(parser)`` and ``run(options, context) -> exit code``."""
