"""Reading and writing tables of the package.

Tables are sorted by their key and hold no line break inside a cell (the formatter and the check see to it), so
the rows of one crop are found by searching the file's text and only those lines are parsed.
"""

from __future__ import annotations

import errno
import os
import stat

from cropdata.errors import DataError

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

Row = dict[str, str]


def read_text(path: str) -> str:
    """The file's text. Raises DataError where it cannot be read as UTF-8."""
    try:
        with open(path, encoding="utf-8", newline="") as stream:
            return stream.read()
    except OSError as error:
        raise DataError(f"{path}: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise DataError(f"{path}: not UTF-8 at byte {error.start}") from error


def open_ordinary(path: str, *, links: bool = False) -> int:
    """A handle on an ordinary file. Never waits, as a pipe without a writer would make it.

    Raises OSError where it cannot be opened, is a pipe, a folder or a device, or, unless `links`, a symbolic link.
    """
    if not links and os.path.islink(path):
        raise OSError(errno.ELOOP, "it is a symbolic link; put the file itself there", path)
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0))
    if not stat.S_ISREG(os.fstat(handle).st_mode):
        os.close(handle)
        raise OSError(errno.EINVAL, "it is no ordinary file; put one there", path)
    return handle


class TableText:
    """A table's text, parsed only where it is asked for."""

    __slots__ = ("_body", "header", "path")

    def __init__(self, path: str) -> None:
        text = read_text(path)
        head, _, body = text.partition("\n")
        self.path = path
        self.header: list[str] = head.split(",")
        self._body = "\n" + body

    def _parse(self, text: str) -> Iterator[Row]:
        for cells in _cells(text):
            if len(cells) != len(self.header):
                raise DataError(f"{self.path}: a row has {len(cells)} cells, the header {len(self.header)}: {cells}")
            yield dict(zip(self.header, cells, strict=True))

    def rows(self) -> list[Row]:
        """All rows."""
        return list(self._parse(self._body[1:]))

    def rows_starting(self, prefix: str) -> list[Row]:
        """Rows whose line starts with `prefix`; they stand together, because the table is sorted."""
        start = self._body.find("\n" + prefix)
        if start < 0:
            return []
        end = start
        while self._body.startswith("\n" + prefix, end):
            following = self._body.find("\n", end + 1)
            if following < 0:
                end = len(self._body)
                break
            end = following
        return list(self._parse(self._body[start + 1 : end]))


def _cells(text: str) -> Iterator[list[str]]:
    """The cells of each line. The csv module costs half of a first look-up, so it comes in only for quoted cells."""
    lines = text.split("\n")
    if not lines[-1]:
        lines.pop()
    if '"' not in text:
        return (line.split(",") for line in lines)
    import csv

    return csv.reader(lines, strict=True)


def read_rows(path: str) -> list[Row]:
    """All rows of a table as texts."""
    return TableText(path).rows()


def sort_rows(rows: Iterable[Row], key: Sequence[str]) -> list[Row]:
    """Rows in the order of the release: by the key's cells, compared as text."""
    return sorted(rows, key=lambda row: tuple(row[name] for name in key))


def table_text(header: Sequence[str], rows: Iterable[Mapping[str, str]]) -> str:
    """The one form in which a table is written: comma, LF, quotes only where needed."""
    import csv
    import io

    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([row.get(name, "") for name in header] for row in rows)
    return stream.getvalue()


def write_whole(path: str, text: str) -> None:
    """Write a file so that a reader sees the old or the new one, never half of it."""
    import shutil
    import tempfile

    # A name of its own, made anew: a link that somebody laid under a foreseeable name is never written through.
    handle, temporary = tempfile.mkstemp(prefix=".cropdata-", dir=os.path.dirname(path) or ".")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            stream.write(text)
        if os.path.exists(path):
            shutil.copymode(path, temporary)
        else:
            os.chmod(temporary, usual_mode(0o666))
        os.replace(temporary, path)
    except BaseException as error:
        os.unlink(temporary)
        if isinstance(error, OSError):  # of the file that was asked for, not of the one that nobody knows
            error.filename, error.filename2 = path, None
        raise


def usual_mode(mode: int) -> int:
    """The permissions that a new file or folder gets here when it is made in the plain way."""
    mask = os.umask(0o022)
    os.umask(mask)
    return mode & ~mask
