"""From what a person types to a crop."""

from __future__ import annotations

from cropdata.errors import AmbiguousCropError, InputError, UnknownCropError

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable


def folded(text: str) -> str:
    """A name with case, width, accents' form and blanks evened out."""
    if not text.isascii():
        import unicodedata

        text = unicodedata.normalize("NFKC", text)
    return " ".join(text.casefold().replace("_", " ").split())


def as_slug(name: str) -> str:
    """The id that a folded name would have."""
    return name.replace(" ", "-")


def without_accents(text: str) -> str:
    """The text with its letters' accents taken away."""
    if text.isascii():
        return text
    import unicodedata

    return "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))


class NameIndex:
    """Looks names up; unknown ones get near misses, shared ones the list of candidates."""

    __slots__ = ("_crops", "_plain")

    def __init__(self, names: Iterable[tuple[str, str]], crop_ids: Iterable[str]) -> None:
        """`names` are pairs of a name and a crop id."""
        self._crops: dict[str, tuple[str, ...]] = {
            folded(crop_id.replace("-", " ")): (crop_id,) for crop_id in crop_ids
        }
        ids = set(self._crops)
        for name, crop_id in names:
            key = folded(name)
            if key in ids:
                continue  # an id means its own crop, whatever else carries that name
            known = self._crops.get(key, ())
            if crop_id not in known:
                self._crops[key] = (*known, crop_id)
        self._plain: dict[str, str] | None = None

    def __call__(self, query: str) -> str:
        """The crop id. Raises InputError for an empty name, UnknownCropError, AmbiguousCropError."""
        name = folded(query)
        if not name:
            raise InputError("the name of a crop is empty", found=query, hint="give a name such as tomato")
        found = self._crops.get(name) or self._crops.get(self._singular(name)) or self._by_plain_letters(name)
        if found is None:
            raise UnknownCropError(query, self._near(name))
        if len(found) > 1:
            raise AmbiguousCropError(query, tuple(sorted(found)))
        return found[0]

    def _singular(self, name: str) -> str:
        """A plain English plural without its ending; harmless where the result is no name."""
        for ending, instead in (("ies", "y"), ("oes", "o"), ("ches", "ch"), ("shes", "sh"), ("s", "")):
            if name.endswith(ending):
                return name[: -len(ending)] + instead
        return name

    def _by_plain_letters(self, name: str) -> tuple[str, ...] | None:
        if self._plain is None:
            self._plain = {without_accents(known): known for known in self._crops}
        known = self._plain.get(without_accents(name))
        return self._crops[known] if known else None

    def _near(self, name: str) -> tuple[str, ...]:
        import difflib

        close = difflib.get_close_matches(name, self._crops, n=6, cutoff=0.72)
        if not close and len(name) >= 3:
            close = [known for known in self._crops if name in known][:6]
        suggestions: dict[str, None] = {}
        for known in close:
            suggestions.update(dict.fromkeys(self._crops[known]))
        return tuple(suggestions)[:5]


def printable(text: str) -> str:
    """The text in one line without the control signs with which a terminal could be steered."""
    return "".join(sign for sign in " ".join(text.split()) if sign.isprintable())
