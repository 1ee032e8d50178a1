# SPDX-License-Identifier: GPL-3.0-or-later
"""The command line: verbs, words on the terminal, exit codes. Never loads Qt but to open the desk."""
