"""Notes and sources gathered while a sowing is planned."""

from __future__ import annotations

from typing import Any

from cropdata.season.words import Words


class Draft:
    """Sentences for the grower and ids of the sources used, each once."""

    __slots__ = ("notes", "sources", "words")

    def __init__(self, words: Words) -> None:
        self.words = words
        self.notes: list[str] = []
        self.sources: set[str] = set()

    def say(self, text: str) -> None:
        """Note a sentence."""
        if text not in self.notes:
            self.notes.append(text)

    def use(self, value: Any) -> None:
        """Name the sources of a value (anything with `sources`); None is nothing."""
        if value is not None:
            self.sources.update(value.sources)

    def take(self, other: Draft) -> None:
        """All that another draft says."""
        for text in other.notes:
            self.say(text)
        self.sources |= other.sources


def counted(number: float, what: str) -> str:
    """ "1 day", "2 days"."""
    return f"{number:g} {what}{'' if number == 1 else 's'}"


def figures(low: float, high: float) -> str:
    """ "5" or "5 to 7": whole from two up, as no source knows a tenth of a day; a half, as sources print it, stays."""
    one, other = _figure(low), _figure(high)
    return one if one == other else f"{one} to {other}"


def _figure(value: float) -> str:
    halved = value < 10 and float(2 * value).is_integer()
    return f"{value:.1f}".removesuffix(".0") if halved or value < 1.95 else f"{value:.0f}"
