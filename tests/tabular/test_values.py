from __future__ import annotations

import pytest

from cropdata.tabular.values import parse


@pytest.mark.parametrize("text", ["1_000", " 5", "5 ", "1e3", "inf", "nan", "1,5", "٣", "12 mm", "=1", "--1", ".5"])
def test_what_the_standard_readers_let_through_as_a_number_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="not a number"):
        parse(text, "number")


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("12.5", "number", 12.5),
        ("-3", "integer", -3),
        ("true", "boolean", True),
        ("false", "boolean", False),
        ("", "number", None),
        ("NA", "string", "NA"),
        ("2024-02-29", "date", "2024-02-29"),
    ],
)
def test_plain_values(text: str, kind: str, value: object) -> None:
    assert parse(text, kind) == value


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("yes", "boolean"),
        ("True", "boolean"),
        ("3.0", "integer"),
        ("2024-1-5", "date"),
        ("2024-02-30", "date"),
        ("05/01/2024", "date"),
    ],
)
def test_near_misses_are_refused(text: str, kind: str) -> None:
    with pytest.raises(ValueError, match=r"not |day is out of range"):
        parse(text, kind)
