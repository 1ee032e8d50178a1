# SPDX-License-Identifier: GPL-3.0-or-later
"""The key tables of ``docs/file-format.md``, from the model and its JSON Schema.

``python benchmarks/file_format.py`` writes them anew. What a key means and its example stand in
``file_format_keys.py``; a key that is missing there is told by the comment that the model has for it.
"""

from __future__ import annotations

import inspect
import json
import re
import sys
from functools import cache
from pathlib import Path
from typing import Any

from nightplan.model.values import Value

sys.path.insert(0, str(Path(__file__).parent))
from file_format_keys import FREE, KEYS, OBJECTS

PAGE = Path(__file__).parents[1] / "docs" / "file-format.md"
MARKS = ("<!-- the keys -->\n", "<!-- end of the keys -->\n")
_MANY = 8


def place_of(model: str) -> str:
    """Where the value of the model stands in the file."""
    return next((place for place, kind, _ in OBJECTS if kind.__name__ == model), model)


def anchor(place: str) -> str:
    """The name under which a heading can be linked."""
    return re.sub(r"[^\w\- ]", "", place.lower()).replace(" ", "-")


def type_words(schema: dict[str, Any]) -> str:
    """A JSON Schema of one key in words."""
    if "anyOf" in schema:
        kinds = [s for s in schema["anyOf"] if s.get("type") != "null"]
        return " or ".join(dict.fromkeys(type_words(s) for s in kinds))
    if "$ref" in schema:
        name = schema["$ref"].rsplit("/", 1)[1]
        return "any JSON" if name == "JsonValue" else f"[{place_of(name)}](#{anchor(place_of(name))})"
    if "const" in schema:
        return f"`{json.dumps(schema['const'])}`"
    if "enum" in schema:
        shown = ", ".join(f"`{v}`" for v in schema["enum"][:_MANY])
        return shown if len(schema["enum"]) <= _MANY else f"{shown}, …"
    kind = schema.get("type")
    if kind == "array":
        inner = schema.get("prefixItems")
        if inner:
            return f"list of {len(inner)}: {type_words(inner[0])}"
        return f"list of {type_words(schema.get('items', {}))}"
    if kind == "object":
        inner = schema.get("additionalProperties")
        return f"object of {type_words(inner)}" if isinstance(inner, dict) else "object"
    if kind in ("number", "integer"):
        return ("whole number" if kind == "integer" else "number") + _range(schema)
    if kind == "string":
        return _text(schema)
    return {"boolean": "true or false"}.get(kind or "", "any JSON")


def _range(schema: dict[str, Any]) -> str:
    least, most = schema.get("minimum"), schema.get("maximum")
    above, below = schema.get("exclusiveMinimum"), schema.get("exclusiveMaximum")
    words = [f"above {above:g}" if above is not None else "", f"at least {least:g}" if least is not None else ""]
    words += [f"below {below:g}" if below is not None else "", f"at most {most:.10g}" if most is not None else ""]
    if least is not None and most is not None:
        return f", {least:g} to {most:.10g}"
    return "".join(f", {w}" for w in words if w)


def _text(schema: dict[str, Any]) -> str:
    pattern = schema.get("pattern", "")
    if schema.get("format") == "date" or pattern == r"^\d{4}-\d{2}-\d{2}$":
        return "date"
    if pattern.startswith(r"^\d{4}") and "T" in pattern:
        return "moment"
    if pattern.startswith(r"^\d{2}:"):
        return "time"
    if pattern.startswith("^[A-Za-z0-9]"):
        return "id"
    return "text"


def default_words(key: str, schema: dict[str, Any], required: list[str]) -> str:
    """What an absent key means."""
    if key in required:
        return "needed"
    default = schema.get("default")
    if default is None:
        return "absent" if "default" in schema else "empty"
    return "empty" if default in ("", [], {}) else f"`{json.dumps(default)}`"


def comment_of(model: type[Value], key: str) -> str:
    """The comment above a key in the model, as one line."""
    found = re.search(r"((?:^ +#:? .*\n)+) +" + re.escape(key) + r"_?: ", inspect.getsource(model), re.M)
    return " ".join(line.strip().lstrip("#: ") for line in found[1].splitlines()) if found else ""


@cache
def rows(model: type[Value]) -> list[tuple[str, str, str, str, str]]:
    """Key, type, default, meaning, example of every key of one value of the model."""
    schema = model.model_json_schema(by_alias=True)
    if model.__name__ in schema.get("$defs", {}):
        schema = schema["$defs"][model.__name__]
    if "anyOf" in schema:
        schema = next(s for s in schema["anyOf"] if s.get("type") == "object")
    required = [*schema.get("required", ()), *(("format", "version") if model.__name__ == "Project" else ())]
    found = []
    for key, its in schema["properties"].items():
        name = f"{model.__name__}.{key}"
        meaning, example = KEYS.get(name, (comment_of(model, key), None))
        shown = "" if example is None else f"`{json.dumps(example, ensure_ascii=False)}`"
        found.append((key, FREE.get(name) or type_words(its), default_words(key, its, required), meaning, shown))
    return found


def tables() -> str:
    """All tables as Markdown."""
    text = ""
    for place, model, sentence in OBJECTS:
        text += f"\n### {place}\n\n{sentence}\n\n| key | type | default | meaning | example |\n|---|---|---|---|---|\n"
        for key, kind, default, meaning, example in rows(model):
            cells = [f"`{key}`", kind, default, meaning, example]
            text += "| " + " | ".join(c.replace("|", "\\|") for c in cells) + " |\n"
    return text + "\n"


def main() -> None:
    head, rest = PAGE.read_text(encoding="utf-8").split(MARKS[0])
    PAGE.write_text(head + MARKS[0] + tables() + MARKS[1] + rest.split(MARKS[1])[1], encoding="utf-8")


if __name__ == "__main__":
    main()
