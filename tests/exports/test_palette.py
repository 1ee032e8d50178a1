# SPDX-License-Identifier: GPL-3.0-or-later
"""Contrast against published examples, and every look against WCAG 2.2."""

from __future__ import annotations

import itertools

import export_cases as cases
import pytest

from nightplan.exports import palette
from nightplan.exports.look import LIGHT, LOOKS, NIGHT, Look
from nightplan.exports.palette import contrast, ink_on, stage_inks


@pytest.mark.parametrize(
    ("one", "two", "ratio"),
    [
        # WCAG 2.2, Understanding SC 1.4.3: black on white is 21:1, #767676 on white is 4.54:1
        ("#000000", "#FFFFFF", 21.0),
        ("#767676", "#FFFFFF", 4.54),
        # by hand from the definition: pure red has the luminance 0.2126, (1.05)/(0.2626) = 4.00
        ("#FF0000", "#FFFFFF", 4.00),
        # WCAG technique G18 and the same: equal colours are 1:1
        ("#767676", "#767676", 1.0),
    ],
)
def test_contrast_of_published_pairs(one: str, two: str, ratio: float) -> None:
    assert round(contrast(one, two), 2) == ratio
    assert contrast(two, one) == contrast(one, two)


def test_777777_just_misses_what_text_needs() -> None:
    # WCAG 2.2, Understanding SC 1.4.3: #777777 on white is 4.47:1 and fails
    assert 4.47 <= contrast("#777777", "#FFFFFF") < palette.TEXT_CONTRAST


def test_the_eight_colours_are_those_published() -> None:
    # M. Okabe, K. Ito, Color Universal Design, table of RGB values 0-255
    published = [
        (0, 0, 0),
        (230, 159, 0),
        (86, 180, 233),
        (0, 158, 115),
        (240, 228, 66),
        (0, 114, 178),
        (213, 94, 0),
        (204, 121, 167),
    ]
    assert [palette.rgb(c) for c in palette.OKABE_ITO] == published
    assert set(palette.STAGE_COLOURS) == set(palette.OKABE_ITO) - {palette.BLACK}


@pytest.mark.parametrize("bad", ["red", "#12345", "#1234567", "", "#GGGGGG"])
def test_a_colour_is_written_one_way(bad: str) -> None:
    with pytest.raises(ValueError, match="#RRGGBB"):
        palette.luminance(bad)


@pytest.mark.parametrize("look", LOOKS.values(), ids=lambda k: k.name)
def test_words_and_marks_stand_out_in_every_look(look: Look) -> None:
    for colour in (look.text, look.muted, look.now, look.plan, look.there, *look.gates):
        assert contrast(colour, look.panel) >= palette.TEXT_CONTRAST, colour
    for colour in (look.edge, look.hatch):
        assert contrast(colour, look.panel) >= palette.MARK_CONTRAST, colour
    for zone in look.zones:
        # words and the line of the buffer chart stand on its zones
        assert contrast(look.text, zone) >= palette.TEXT_CONTRAST
        assert contrast(look.now, zone) >= palette.TEXT_CONTRAST


@pytest.mark.parametrize("grey", [False, True])
def test_letters_on_stage_colours_can_be_read(grey: bool) -> None:
    stages = [{"id": f"s{n}", "name": f"Stage {n}", "items": []} for n in range(16)]
    inks = stage_inks(cases.project(stages=stages, jobs=[], log=[], baselines=[], forecasts=[]), grey=grey)
    assert all(contrast(i.ink, i.fill) >= palette.TEXT_CONTRAST for i in inks.values())
    # a block is told from the panel by its outline where its colour is too near
    for look in LOOKS.values():
        assert contrast(look.edge, look.panel) >= palette.MARK_CONTRAST


def test_ink_is_readable_on_any_colour() -> None:
    levels = ("00", "33", "66", "99", "CC", "FF")
    for parts in itertools.product(levels, repeat=3):
        fill = "#" + "".join(parts)
        assert contrast(ink_on(fill), fill) >= palette.TEXT_CONTRAST


def test_letters_are_unique_and_from_the_name() -> None:
    names = ["Shade", "Shape", "Sha", "Sh", "Model", "模型", "!!", "model", "Mode", "x" * 200, "x" * 199]
    stages = [{"id": f"s{n}", "name": name, "items": []} for n, name in enumerate(names)]
    inks = stage_inks(cases.project(stages=stages, jobs=[], log=[], baselines=[], forecasts=[]))
    letters = [i.letters for i in inks.values()]
    assert letters[0] == "sha"
    assert letters[4] == "mod"
    assert len(set(letters)) == len(names)
    assert all(1 <= len(x) <= 4 for x in letters)


def test_forty_stages_of_one_name_still_get_letters() -> None:
    stages = [{"id": f"s{n}", "name": "Set", "items": []} for n in range(40)]
    inks = stage_inks(cases.project(stages=stages, jobs=[], log=[], baselines=[], forecasts=[]))
    assert len({i.letters for i in inks.values()}) == 40


def test_mixing_ends_at_the_two_colours() -> None:
    assert palette.mix("#102030", "#F0E0D0", 0.0) == "#102030"
    assert palette.mix("#102030", "#F0E0D0", 1.0) == "#F0E0D0"
    assert palette.mix("#000000", "#FFFFFF", 0.5) in ("#7F7F7F", "#808080")
    assert NIGHT.panel != LIGHT.panel
