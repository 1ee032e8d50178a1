# SPDX-License-Identifier: GPL-3.0-or-later
"""Translations: texts out of the source, catalogues into the package.

    python packaging/catalogues.py update          texts of the source into every catalogue (.po)
    python packaging/catalogues.py compile         catalogues as the program reads them (.mo)
    python packaging/catalogues.py missing de      texts without a translation, as JSON
    python packaging/catalogues.py take de FILE    translations from such a JSON file into the catalogue
    python packaging/catalogues.py check           exit code 1 where one of these has been forgotten

The JSON file is a list of ``{"id": …, "plural": … or null, "context": … or null, "said": text or list of texts}``.
Extraction, plural rules and compiling are Babel's.
"""

from __future__ import annotations

import argparse
import datetime as dt
import gettext
import io
import json
import string
import sys
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "src" / "nightplan"
FOLDER = SOURCE / "speech" / "catalogues"
LANGUAGES = ("de", "es", "ja")
KEYWORDS: dict[str, Any] = {"tr": None, "trn": (1, 2), "trc": ((1, "c"), 2), "mark": None}


def template() -> Catalog:
    """Every text of the source, with the files that say it."""
    made = Catalog(project="nightplan", charset="utf-8")
    found = extract_from_dir(
        str(SOURCE), method_map=[("**.py", "python")], keywords=KEYWORDS, comment_tags=("translators:",)
    )
    for name, _line, message, comments, context in sorted(found, key=lambda f: (f[0], f[1])):
        made.add(message, None, [(name, 0)], auto_comments=comments, context=context)
    return made


def path(language: str, ending: str = "po") -> Path:
    return FOLDER / language / "LC_MESSAGES" / f"nightplan.{ending}"


def catalogue(language: str) -> Catalog:
    if not path(language).exists():
        return Catalog(locale=language, domain="nightplan", charset="utf-8")
    with path(language).open("rb") as file:
        return read_po(file, locale=language, domain="nightplan")


def texts(catalog: Catalog) -> list[Message]:
    return [m for m in catalog if m.id]


def key(message: Message) -> tuple[str, str | None]:
    return (message.id[0] if isinstance(message.id, tuple) else message.id), message.context


def updated(language: str, source: Catalog) -> Catalog:
    """The catalogue with exactly the texts of the source; what was translated is kept, nothing is guessed."""
    known = {key(m): m.string for m in texts(catalogue(language))}
    made = Catalog(locale=language, domain="nightplan", project="nightplan", charset="utf-8", fuzzy=False)
    for message in texts(source):
        said = known.get(key(message), "")
        plural = isinstance(message.id, tuple)
        if plural:
            count = made.num_plurals
            parts = said if isinstance(said, (tuple, list)) else (said,) if said else ()
            said = tuple((*parts, *("",) * count)[:count])
        elif isinstance(said, (tuple, list)):
            said = said[0] if said else ""
        made.add(message.id, said, message.locations, auto_comments=message.auto_comments, context=message.context)
    return made


def as_po(catalog: Catalog) -> bytes:
    out = io.BytesIO()
    # no dates and no line numbers: a catalogue changes where its texts do
    catalog.header_comment = f"# {catalog.locale.english_name} texts of nightplan. GPL-3.0-or-later."
    write_po(out, catalog, width=110, include_lineno=False, sort_output=True, omit_header=True)
    head = (
        f"{catalog.header_comment}\n"
        'msgid ""\nmsgstr ""\n'
        f'"Language: {catalog.locale}\\n"\n'
        f'"Plural-Forms: {catalog.plural_forms}\\n"\n'
        '"MIME-Version: 1.0\\n"\n"Content-Type: text/plain; charset=utf-8\\n"\n"Content-Transfer-Encoding: 8bit\\n"\n\n'
    )
    return head.encode() + out.getvalue()


def as_mo(language: str) -> bytes:
    out = io.BytesIO()
    catalog = catalogue(language)
    # the same bytes for the same texts
    catalog.creation_date = catalog.revision_date = dt.datetime(2027, 1, 1, tzinfo=dt.UTC)
    write_mo(out, catalog)
    return out.getvalue()


def compiled_texts(mo: bytes) -> dict[Any, str]:
    """What a compiled catalogue says, but for its header, which names the compiler."""
    read = gettext.GNUTranslations(io.BytesIO(mo))
    return {k: v for k, v in vars(read)["_catalog"].items() if k != ""}


def empty(message: Message) -> bool:
    said = message.string
    return not all(said) if isinstance(said, (tuple, list)) else not said


def fields(text: str) -> set[str]:
    """Names of the places to fill in."""
    return {name for _text, name, _form, _conversion in string.Formatter().parse(text) if name is not None}


def slips(language: str) -> list[str]:
    """Translations whose places to fill in are not those of the text."""
    found = []
    for message in texts(catalogue(language)):
        ids = message.id if isinstance(message.id, tuple) else (message.id,)
        said = message.string if isinstance(message.string, (tuple, list)) else (message.string,)
        try:
            wanted = set().union(*(fields(i) for i in ids))
        except ValueError:
            # braces that are not filled in
            continue
        for text in said:
            if not text:
                continue
            try:
                has = fields(text)
            except ValueError:
                found.append(f"{language}: {text!r}: braces that cannot be filled in")
                continue
            # a plural may spell its number out
            least = wanted - {"n"} if len(ids) > 1 else wanted
            if not least <= has <= wanted:
                found.append(f"{language}: {ids[0]!r} fills in {sorted(wanted)}, {text!r} {sorted(has)}")
    return found


def missing(language: str) -> list[dict[str, Any]]:
    return [
        {
            "id": key(m)[0],
            "plural": m.id[1] if isinstance(m.id, tuple) else None,
            "context": m.context,
            "where": sorted({name for name, _ in m.locations}),
            "said": [""] * catalogue(language).num_plurals if isinstance(m.id, tuple) else "",
        }
        for m in texts(catalogue(language))
        if empty(m)
    ]


def take(language: str, told: list[dict[str, Any]]) -> list[str]:
    """Put translations into the catalogue; what does not belong there, in words."""
    catalog = catalogue(language)
    here = {key(m): m for m in texts(catalog)}
    wrong = []
    for one in told:
        message = here.get((one["id"], one.get("context")))
        said = one.get("said")
        if message is None:
            wrong.append(f"not a text of the source: {one['id']!r}")
        elif isinstance(message.id, tuple) != isinstance(said, list):
            wrong.append(f"one text or as many as plural forms: {one['id']!r}")
        elif said:
            message.string = tuple(said) if isinstance(said, list) else said
    path(language).write_bytes(as_po(catalog))
    return wrong


def update() -> None:
    source = template()
    for language in LANGUAGES:
        path(language).parent.mkdir(parents=True, exist_ok=True)
        path(language).write_bytes(as_po(updated(language, source)))


def compile_all() -> None:
    for language in LANGUAGES:
        path(language, "mo").write_bytes(as_mo(language))


def check() -> list[str]:
    """What is forgotten or wrong, in words; nothing where all is well."""
    found = []
    source = template()
    for language in LANGUAGES:
        if path(language).read_bytes() != as_po(updated(language, source)):
            found.append(f"{language}: texts of the source have changed; run update")
        found += [f"{language}: not translated: {key(m)[0]!r}" for m in texts(catalogue(language)) if empty(m)]
        found += slips(language)
        mo = path(language, "mo")
        if not mo.exists() or compiled_texts(mo.read_bytes()) != compiled_texts(as_mo(language)):
            found.append(f"{language}: not compiled; run compile")
    return found


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=("update", "compile", "missing", "take", "check"))
    parser.add_argument("language", nargs="?", choices=LANGUAGES)
    parser.add_argument("file", nargs="?", type=Path)
    given = parser.parse_args()
    if (given.what in ("missing", "take") and given.language is None) or (given.what == "take" and given.file is None):
        parser.error(f"{given.what} needs a language{' and a file' if given.what == 'take' else ''}")
    wrong: list[str] = []
    if given.what == "update":
        update()
    elif given.what == "compile":
        compile_all()
    elif given.what == "missing":
        print(json.dumps(missing(given.language), ensure_ascii=False, indent=1))
    elif given.what == "take":
        wrong = take(given.language, json.loads(given.file.read_text("utf-8")))
    else:
        wrong = check()
    for line in wrong:
        print(line, file=sys.stderr)
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
