# SPDX-License-Identifier: GPL-3.0-or-later
"""Loading: what is refused, in which words.

What JSON text may hold is RFC 8259: UTF-8, a byte order mark may be ignored (section 8.1), names in an
object should be unique (section 4), NaN and Infinity are no numbers (section 6).
"""

from __future__ import annotations

import copy
import json
import os
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from project_strategies import sample_raw, values

from nightplan.files.store import MAX_BYTES, MAX_DEPTH, MAX_VALUES, content_hash, dumps, load, parse, save
from nightplan.model.errors import BadInput
from nightplan.model.project import Project

NAME = "piece.nightplan"


def refusal(folder: Path, data: bytes | str) -> str:
    path = folder / NAME
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    with pytest.raises(BadInput) as caught:
        load(path)
    sentence = caught.value.sentence
    assert sentence.startswith(NAME + ": ")
    assert "\n" not in sentence
    return sentence.removeprefix(NAME + ": ")


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_with_and_without_a_byte_order_mark(tmp_path: Path, mark: bytes) -> None:
    path = tmp_path / NAME
    path.write_bytes(mark + json.dumps(sample_raw()).encode())
    assert load(path).title == "Moth and Lantern"


@pytest.mark.parametrize("data", [b"", b" \n\t", b"\xef\xbb\xbf", b"\xef\xbb\xbf \n"])
def test_empty(tmp_path: Path, data: bytes) -> None:
    assert refusal(tmp_path, data) == "the file is empty"


def test_truncated_anywhere_says_that_it_breaks_off_and_where(tmp_path: Path) -> None:
    text = json.dumps(sample_raw("still-harbour"), indent=1).rstrip()
    for cut in range(1, len(text), 37):
        said = refusal(tmp_path, text[:cut])
        assert "breaks off" in said, text[:cut][-30:]
    said = refusal(tmp_path, '{"format": "nightplan",\n "version": ')
    assert said.startswith("line 2, column 13: the file breaks off")


def test_cut_within_a_letter(tmp_path: Path) -> None:
    assert refusal(tmp_path, '{"title": "Nachtfalterä'.encode()[:-1]) == "the file breaks off in the middle of a letter"


def test_no_json_says_line_and_column(tmp_path: Path) -> None:
    assert refusal(tmp_path, '{"format": "nightplan",\n "title" "Moth", "zone": 1}').startswith(
        "line 2, column 10: this is no JSON"
    )


def test_no_utf8_says_which_byte(tmp_path: Path) -> None:
    assert refusal(tmp_path, b'{"title": "\xff\xfe"}') == "byte 11 is no UTF-8; a project is written as UTF-8 text"


@pytest.mark.parametrize("where", [(), ("gates", 0), ("stages", 0, "items", 0)])
def test_a_key_twice_is_named(tmp_path: Path, where: tuple[Any, ...]) -> None:
    raw = sample_raw()
    inner = raw
    for step in where:
        inner = inner[step]
    inner["x-twice"], inner["x-other"] = 1, 2
    text = json.dumps(raw).replace('"x-other"', '"x-twice"')
    assert refusal(tmp_path, text) == "the key 'x-twice' stands twice in one object; keep one of them"


@pytest.mark.parametrize("word", ["NaN", "Infinity", "-Infinity", "1e999"])
@pytest.mark.parametrize(
    "place", ["stages[0].items[0].high", "x-unknown.inner[1]", "deliverables[0].x-frames", "target_odds"]
)
def test_endless_numbers_are_refused_with_their_place(tmp_path: Path, word: str, place: str) -> None:
    raw = sample_raw()
    if place.startswith("x-"):
        raw["x-unknown"] = {"inner": [0, "HERE"]}
    elif place.startswith("stages"):
        raw["stages"][0]["items"][0]["high"] = "HERE"
    elif place.startswith("deliverables"):
        raw["deliverables"] = [{"x-frames": "HERE"}]
    else:
        raw["target_odds"] = "HERE"
    said = refusal(tmp_path, json.dumps(raw).replace('"HERE"', word))
    assert said.startswith(f"{place} = ")
    assert said.endswith("must be a finite number")


def test_a_number_too_long_to_read(tmp_path: Path) -> None:
    raw = json.dumps({**sample_raw(), "x-big": "HERE"})
    assert "a number in the file cannot be read" in refusal(tmp_path, raw.replace('"HERE"', "9" * 5000))
    assert refusal(tmp_path, raw.replace('"HERE"', "9" * 400)).startswith("x-big = 9999")


@pytest.mark.parametrize("where", ["value", "key"])
def test_half_a_letter_is_refused(tmp_path: Path, where: str) -> None:
    raw = {**sample_raw(), "x-text": "\ud83e"} if where == "value" else {**sample_raw(), "x-\ud83e": 1}
    assert "half a letter" in refusal(tmp_path, json.dumps(raw))


@pytest.mark.parametrize("levels", [MAX_DEPTH + 1, 500, 5_000, 200_000])
@pytest.mark.parametrize("pair", ["[]", "{}"])
def test_too_deep(tmp_path: Path, levels: int, pair: str) -> None:
    opening, closing = ("[", "]") if pair == "[]" else ('{"a":', "}")
    inner = opening * levels + "1" + closing * levels
    text = json.dumps({**sample_raw(), "x-deep": "HERE"}).replace('"HERE"', inner)
    assert refusal(tmp_path, text) == f"the file is nested too deeply to be a project (at most {MAX_DEPTH} levels)"


def test_too_large(tmp_path: Path) -> None:
    path = tmp_path / NAME
    with path.open("wb") as file:
        file.truncate(MAX_BYTES + 1)
    with pytest.raises(BadInput, match=r"piece\.nightplan: has 20 MB; a project has at most 20 MB"):
        load(path)


@pytest.mark.parametrize("filler", ["nonsense ", "[", "{", '"', "\x00", "9", '{"a":', "1,", "[1],"])
def test_ten_megabytes_of_nonsense(tmp_path: Path, filler: str) -> None:
    assert len(refusal(tmp_path, filler * (10_000_000 // len(filler)))) < 200


@pytest.mark.parametrize("place", ["log", "x-unknown", "deliverables"])
@pytest.mark.parametrize("value", ["{}", "0", "[]", '{"a":[{}]}'])
def test_too_many_values(tmp_path: Path, place: str, value: str) -> None:
    text = json.dumps({**sample_raw(), place: "HERE"}).replace('"HERE"', f"[{','.join([value] * MAX_VALUES)}]")
    assert re.search(r"^about \d+ values; a project has at most 300000$", refusal(tmp_path, text))


def test_a_project_of_years_is_not_too_large() -> None:
    raw = sample_raw()
    stage = raw["stages"][0]
    item = stage["items"][0]
    stage["items"] = stage["items"] + [{**item, "id": f"more-{n}"} for n in range(100 - len(raw["stages"]))]
    names = [i["id"] for s in raw["stages"] for i in s["items"]]
    dates = {"p10": "2027-10-10", "p50": "2027-10-10", "p80": "2027-10-10", "p90": "2027-10-10"}
    given = {**raw["forecasts"][0], "finish": dict.fromkeys(names, dates)}
    raw["forecasts"] = [given] * 400
    assert len(parse(json.dumps(raw, indent=1).encode(), NAME).forecasts) == 400


def test_a_folder(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=f"^{tmp_path.name}: is a folder"):
        load(tmp_path)


def test_no_such_file(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"gone\.nightplan: there is no such file"):
        load(tmp_path / "gone.nightplan")


def test_a_part_of_the_path_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(BadInput, match="cannot be read: a part of the path is no folder"):
        load(tmp_path / "file" / NAME)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with a name on this system")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / NAME)
    with pytest.raises(BadInput, match="is no ordinary file"):
        load(tmp_path / NAME)


def test_no_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # an error injected at the call: the tests may run as a user who may read everything
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    path = tmp_path / NAME
    path.write_text("{}")
    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(BadInput, match="you may not read this file"):
        load(path)


@pytest.mark.parametrize("path", ["a\0b", "x" * 5000])
def test_a_path_that_cannot_be(path: str) -> None:
    with pytest.raises(BadInput, match="cannot be read") as caught:
        load(path)
    assert len(caught.value.sentence) < 300


@pytest.mark.parametrize("value", [[], 1, "text", None, True])
def test_json_that_is_no_project(tmp_path: Path, value: Any) -> None:
    assert refusal(tmp_path, json.dumps(value)).endswith("a project is a JSON object")


def test_a_newer_version_is_refused_by_name(tmp_path: Path) -> None:
    said = refusal(tmp_path, json.dumps({**sample_raw(), "version": 7}))
    assert said == "version = 7: this file is from a newer nightplan; this one reads up to version 1"


def test_a_refused_file_stays_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / NAME
    path.write_bytes(b'{"format": "nightplan", "version": 1, ')
    before = content_hash(path)
    with pytest.raises(BadInput):
        load(path)
    assert content_hash(path) == before
    assert os.listdir(tmp_path) == [NAME]


def test_the_hash_is_that_of_the_bytes(tmp_path: Path) -> None:
    # SHA-256 of "abc": FIPS 180-2, appendix B.1
    (tmp_path / "abc").write_bytes(b"abc")
    assert content_hash(tmp_path / "abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert content_hash(tmp_path / "none") is None


def read_or_refused(data: bytes) -> Project | None:
    try:
        return parse(data, NAME)
    except BadInput as error:
        refused = error.sentence
    assert refused.startswith(NAME + ": ")
    assert "\n" not in refused
    assert len(refused) < 500
    return None


def paths(raw: Any, here: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [here] if here else []
    if isinstance(raw, dict):
        found += [p for key in raw for p in paths(raw[key], (*here, key))]
    elif isinstance(raw, list):
        found += [p for n in range(len(raw)) for p in paths(raw[n], (*here, n))]
    return found


_BASE = sample_raw("still-harbour")
_PATHS = paths(_BASE)
#: values at which number, date and id rules are likely to break
_ODD: list[Any] = [None, True, -1, 0, 10**300, 1e308, -0.0, [], {}, [[]]]
_ODD += ["", "2027-02-30", "9999-12-31", "24:00", "lock", "\u2028", "\0"]


@settings(max_examples=300, deadline=None)
@given(data=st.data())
def test_a_mutated_file_is_read_or_refused_in_one_sentence(data: st.DataObject) -> None:
    raw = copy.deepcopy(_BASE)
    for _ in range(data.draw(st.integers(1, 3))):
        path = data.draw(st.sampled_from(_PATHS))
        inner = raw
        try:
            for step in path[:-1]:
                inner = inner[step]
            if data.draw(st.booleans()):
                inner[path[-1]] = data.draw(st.sampled_from(_ODD) | values)
            else:
                del inner[path[-1]]
        except (LookupError, TypeError):
            # an earlier mutation has taken this place away
            continue
    project = read_or_refused(json.dumps(raw).encode())
    if project is not None:
        assert parse(dumps(project).encode(), NAME) == project


@settings(max_examples=300, deadline=None)
@given(data=st.data())
def test_mutated_bytes_are_read_or_refused_in_one_sentence(data: st.DataObject) -> None:
    text = bytearray((json.dumps(_BASE)).encode())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text) - 1))
        text[at : at + data.draw(st.integers(0, 3))] = data.draw(st.binary(max_size=3))
    read_or_refused(bytes(text))


def test_saving_a_sample_reads_back_the_same(tmp_path: Path) -> None:
    project = parse(json.dumps(_BASE).encode(), NAME)
    written = save(project, tmp_path / NAME)
    assert load(tmp_path / NAME) == project
    assert content_hash(tmp_path / NAME) == written
