# SPDX-License-Identifier: GPL-3.0-or-later
"""The JSON Schema of a project file, made from the model. ``python -m nightplan.files.schema`` prints it."""

from __future__ import annotations

import json
import sys
from typing import Any

from nightplan.model.project import Project

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def schema() -> dict[str, Any]:
    """The schema as JSON values (draft 2020-12)."""
    made = Project.model_json_schema(mode="validation", by_alias=True)
    for required in ("format", "version"):
        made["required"] = [required, *[key for key in made["required"] if key != required]]
    return {"$schema": DIALECT, **made, "title": "nightplan project"}  # untranslated: a key of the schema


def schema_text() -> str:
    """The schema as it is kept in ``assets``."""
    return json.dumps(schema(), indent=1, sort_keys=True) + "\n"


if __name__ == "__main__":
    sys.stdout.write(schema_text())
