# SPDX-License-Identifier: GPL-3.0-or-later
"""Pixels of EXR frames by the bits of their floats, against the same asked of the floats themselves (numpy)."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from nightplan.brief.facts import ALL_BLACK
from nightplan.brief.look import GRID
from nightplan.brief.probe_pixels import _LIT, _exr_look

KINDS = [np.float16, np.float32]


def cells_of_floats(channels: list[Any]) -> int:
    """The cells of the grid whose largest sample is black, by plain comparison of floats."""
    top = np.maximum.reduce([np.nan_to_num(c.astype(np.float32)) for c in channels])
    top = top[::4] if top.shape[0] >= 4 * GRID else top
    bits = 0
    for r in range(GRID):
        a = r * top.shape[0] // GRID
        rows = top[a : max((r + 1) * top.shape[0] // GRID, a + 1)]
        for c in range(GRID):
            b = c * top.shape[1] // GRID
            part = rows[:, b : max((c + 1) * top.shape[1] // GRID, b + 1)]
            bits = bits << 1 | bool((part <= np.float32(_LIT)).all())
    return bits


@st.composite
def pictures(draw: st.DrawFn) -> dict[str, Any]:
    kind = draw(st.sampled_from(KINDS))
    shape = (draw(st.integers(16, 80)), draw(st.integers(16, 40)))
    values = st.sampled_from([0.0, -0.0, 0.001, 0.0019, 0.002, 0.0021, 0.5, 1.0, 60000.0, -3.0])
    odd = st.sampled_from([0.5, float("inf"), -float("inf"), float("nan"), -float("nan")])
    found = {}
    for name in draw(st.sampled_from([("R", "G", "B"), ("R", "G", "B", "A"), ("Y",), ("R", "G", "B", "Z")])):
        array = draw(hnp.arrays(kind, shape, elements=values.map(lambda v: float(kind(v))), fill=st.just(0.0)))
        if draw(st.integers(0, 3)) == 0:
            array[draw(st.integers(0, shape[0] - 1)), draw(st.integers(0, shape[1] - 1))] = draw(odd)
        found[name] = array
    return found


@settings(deadline=None)
@given(pictures())
def test_bits_say_the_same_as_floats(arrays: dict[str, Any]) -> None:
    look = _exr_look(arrays)
    assert look.not_numbers == (not all(np.isfinite(a).all() for a in arrays.values()))
    assert look.opaque == (bool((arrays["A"] >= 1).all()) if "A" in arrays else None)
    beauty = [a for name, a in arrays.items() if name in "RGBY"]
    assert look.black_cells == cells_of_floats(beauty)


@settings(deadline=None)
@given(pictures(), st.data())
def test_the_signature_is_that_of_the_pixels(arrays: dict[str, Any], data: st.DataObject) -> None:
    first = _exr_look(arrays)
    assert _exr_look({name: a.copy() for name, a in arrays.items()}).signature == first.signature
    name = data.draw(st.sampled_from(sorted(arrays)))
    y, x = (data.draw(st.integers(0, n - 1)) for n in arrays[name].shape)
    arrays[name][y, x] = 0.25
    assert _exr_look(arrays).signature != first.signature


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("width", [16, 17, 1030])
def test_one_bad_sample_anywhere_is_found(kind: Any, width: int) -> None:
    # 17 half floats are no whole number of 8 bytes; 1,030 lines of them are summed in several parts
    for value in (np.nan, np.inf, -np.inf):
        for place in ((0, 0), (1029, width - 1)):
            array = np.full((1030, width), -0.5, kind)
            array[place] = value
            assert _exr_look({"R": array}).not_numbers


def test_other_channels_than_floats() -> None:
    ids = np.arange(16 * 16, dtype=np.uint32).reshape(16, 16)
    half = np.zeros((16, 16), np.float16)
    assert _exr_look({"id": ids}).black_cells == 1 << 255
    assert _exr_look({"R": half, "G": half.astype(np.float32), "id": ids}).black_cells == ALL_BLACK
    assert not _exr_look({"R": half, "id": ids}).not_numbers
