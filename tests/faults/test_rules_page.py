"""The generated page of rules holds every rule as the register tells it, and an example of nearly all."""

from __future__ import annotations

from pathlib import Path

from corpus import CORPUS

from cropdata.validation.rules import RULES

PAGE = Path(__file__).resolve().parents[2] / "cropdata" / "validation" / "RULES.md"


def test_the_page_tells_every_rule() -> None:
    """What the examples print follows the data; whether they are fresh to the letter is asked in the slow tier."""
    text = PAGE.read_text(encoding="utf-8")
    for rule in RULES.values():
        assert f"**`{rule.name}`** ({rule.severity}). {rule.finds}\n" in text, (
            f"{rule.name}: run python tools/rules_page.py"
        )
    assert text.count("\n> ") == len({fault.rule for fault in CORPUS})
    assert text.count("**`") == len(RULES)
