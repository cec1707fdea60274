"""Every error that cropdata raises on purpose.

All of them can be pickled, carry what they know as attributes, and read as one sentence that helps.
"""

from __future__ import annotations


class CropdataError(Exception):
    """Root of all errors of this package."""

    def __reduce__(self) -> tuple[object, ...]:
        # Exceptions with keyword arguments do not survive the default pickling, which replays `args` alone.
        return (_rebuild, (type(self), self.args, dict(self.__dict__)))


def _rebuild(kind: type[CropdataError], args: tuple[object, ...], state: dict[str, object]) -> CropdataError:
    error = kind.__new__(kind)
    Exception.__init__(error, *args)
    error.__dict__.update(state)
    return error


class UnknownCropError(CropdataError, LookupError):
    """No crop answers to a name. `.query` is what was asked, `.suggestions` a tuple of crop ids."""

    def __init__(self, query: str, suggestions: tuple[str, ...] = (), message: str | None = None) -> None:
        if message is None:
            message = f"no crop is called {query!r}"
            message += (
                f"; did you mean {', '.join(suggestions)}?" if suggestions else "; nothing in the catalog looks like it"
            )
        super().__init__(message)
        self.query = query
        self.suggestions = suggestions


class AmbiguousCropError(UnknownCropError):
    """A name stands for several crops. `.suggestions` holds their ids."""

    def __init__(self, query: str, suggestions: tuple[str, ...]) -> None:
        message = f"{query!r} may mean several crops: {', '.join(suggestions)}; ask for one of them"
        super().__init__(query, suggestions, message)


class InputError(CropdataError, ValueError):
    """Something handed in is not usable.

    Attributes: `file`, `row` (as a spreadsheet counts, header 1), `column`, `found`, `allowed`, `hint`;
    each is None where it does not apply.
    """

    def __init__(
        self,
        message: str,
        *,
        file: str | None = None,
        row: int | None = None,
        column: str | None = None,
        found: object = None,
        allowed: str | None = None,
        hint: str | None = None,
    ) -> None:
        place = ", ".join(part for part in (file, f"row {row}" if row is not None else None, column) if part)
        text = f"{place}: {message}" if place else message
        if allowed:
            text += f"; allowed: {allowed}"
        if hint:
            text += f" ({hint})"
        super().__init__(text)
        self.file, self.row, self.column = file, row, column
        self.found, self.allowed, self.hint = found, allowed, hint


def why_unreadable(error: Exception) -> str:
    """What keeps a CSV file from being read, in words for its owner."""
    if isinstance(error, OSError):
        return f"cannot be read: {(error.strerror or str(error)).lower()}"
    if isinstance(error, UnicodeDecodeError):
        return "cannot be read: it is not UTF-8; save it again as CSV, UTF-8"
    return f"cannot be read as CSV: {error}"


class DataError(CropdataError):
    """The data package itself is missing, unreadable or damaged."""


class LayerError(CropdataError):
    """A layer cannot be laid over the release, or the release has moved under it.

    Its message begins with its place, as in `notes/packets.csv, row 5, unit: missing`; `file`, `row` (as a spreadsheet
    counts, header 1) and `column` are read from there, and `fault` is what follows. Each is None where it is not known.
    """

    def __init__(self, message: str) -> None:
        import re  # not on the way of a look-up

        super().__init__(message)
        place = re.match(r"(?P<file>.+?\.(?:csv|yaml))(?:, row (?P<row>[0-9]+))?(?:, (?P<column>\w+))?: ", message)
        self.file = place["file"] if place else None
        self.row = int(place["row"]) if place and place["row"] else None
        self.column = place["column"] if place else None
        self.fault = message[place.end() :] if place else message


class NoUsableEstimate(CropdataError):  # noqa: N818 (the name is fixed by the public contract)
    """The data given do not allow an estimate, and a guess would mislead."""


class MissingExtraError(CropdataError):
    """An optional package is not installed. `.install` is the line that installs it."""

    def __init__(self, what: str, extra: str) -> None:
        self.install = f"pip install 'cropdata[{extra}]'"
        super().__init__(f"{what} needs an optional package; install it with: {self.install}")
