# SPDX-License-Identifier: GPL-3.0-or-later
"""Dates and numbers in each language, held against Unicode CLDR as printed by Babel; plural rules of CLDR."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import pytest
from babel import Locale

from nightplan.speech import dates, language, texts, tr, trn, use, words

TUESDAY = dt.date(2027, 10, 12)


@pytest.fixture(autouse=True)
def english_again() -> Iterator[None]:
    yield
    use("en")


@pytest.mark.parametrize(
    ("locale", "short", "long", "number"),
    [
        ("en", "Tue 12 Oct", "Tue 12 Oct 2027", "1234.5"),
        # CLDR 44 and later, patterns MMMEd and yMMMEd, decimal signs
        ("de", "Di., 12. Okt.", "Di., 12. Okt. 2027", "1234,5"),
        ("de_AT.UTF-8", "Di., 12. Okt.", "Di., 12. Okt. 2027", "1234,5"),
        ("es", "mar, 12 oct", "mar, 12 oct 2027", "1234,5"),
        ("ja", "10月12日(火)", "2027年10月12日(火)", "1234.5"),
    ],
)
def test_a_date_and_a_number(locale: str, short: str, long: str, number: str) -> None:
    use(locale)
    assert dates.date(TUESDAY) == short
    assert dates.date(TUESDAY, year=True) == long
    assert dates.decimal(1234.5, 1) == number


def test_numbers_are_never_minus_zero_and_have_a_true_minus() -> None:
    assert dates.decimal(-0.01, 1) == "0.0"
    assert dates.decimal(-2.5, 1) == "−2.5"
    assert dates.decimal(2.0, 2, least=0) == "2"
    assert dates.decimal(2.25, 2, least=0) == "2.25"
    assert dates.whole(20_000) == "20,000"
    use("de")
    assert dates.whole(20_000) == "20.000"


@pytest.mark.parametrize("locale", ["en_US", "en_GB", "de_DE", "es_ES", "es_MX", "ja_JP"])
def test_the_first_day_of_the_week_is_the_countrys(locale: str) -> None:
    use(locale)
    assert dates.first_weekday() == Locale.parse(locale).first_week_day
    assert sorted(dates.week()) == list(range(7))
    assert dates.week()[0] == dates.first_weekday()


def test_english_without_a_country_begins_on_monday_and_no_nonsense_is_spoken() -> None:
    use("en")
    assert dates.first_weekday() == 0
    use("xx_YY")
    assert language() == "en"
    use("ja_XX")
    assert (language(), dates.first_weekday()) == ("ja", 6)


def test_places_are_filled_in_and_a_slip_of_a_catalogue_takes_no_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    assert tr("{a} of {b}", a=1, b="{c}") == "1 of {c}"
    assert trn("{n} evening", "{n} evenings", 1) == "1 evening"
    assert trn("{n} evening", "{n} evenings", 0) == "0 evenings"

    class Slip(texts.gettext.NullTranslations):
        def gettext(self, message: str) -> str:
            return "{oops}"

    monkeypatch.setattr(texts._Spoken, "texts", Slip())
    assert tr("{a} of {b}", a=1, b=2) == "1 of 2"


def test_odds_are_not_rounded_to_what_was_asked_for_and_missed() -> None:
    found = [words.in_100_against(odds, 0.8) for odds in (0.72, 0.794, 0.7961, 0.79999, 0.8, 0.804)]
    assert found == ["72 in 100", "79 in 100", "79.6 in 100", "79.9 in 100", "80 in 100", "80 in 100"]


def test_odds_are_never_rounded_to_a_certainty() -> None:
    assert [words.in_100(o) for o in (0.0, 0.001, 0.714, 0.999, 1.0)] == [
        "0 in 100",
        "under 1 in 100",
        "71 in 100",
        "over 99 in 100",
        "100 in 100",
    ]


def test_hours_that_were_said_are_told_as_they_were_and_others_to_a_tenth() -> None:
    """Common practice, no source."""
    said = {3.25: "3.25 h", 3.5: "3.5 h", 4.0: "4 h", 3.77: "3.8 h", 1.0833: "1.1 h", 0.1 + 0.2 - 0.05: "0.25 h"}
    assert {value: words.known_hours(value) for value in said} == said
