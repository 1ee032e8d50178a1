# SPDX-License-Identifier: GPL-3.0-or-later
"""nightplan: from a brief and the evenings that really exist to a plan with honest odds."""

__version__ = "0.1.0"
