# SPDX-License-Identifier: GPL-3.0-or-later
"""One function per user intention: Project in, Project out. What is refused raises BadInput."""
