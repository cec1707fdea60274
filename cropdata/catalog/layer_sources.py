"""Sources of a grower's own: a name is enough.

A row of a layer may name its source in words ("Aunt May's notebook"): that makes the source. A `sources.csv` of the
layer may say more of it, but needs no more than its title. What is written like an id of `sources.csv` (small letters
parted by underscores, such as knott2_1980) must be described there or in the release, so that a slip is noticed.
"""

from __future__ import annotations

import re

from cropdata.catalog.names import folded, without_accents
from cropdata.errors import LayerError

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from cropdata.tabular.rows import Row

_LIKE_AN_ID = re.compile(r"[a-z0-9]+(?:_[a-z0-9]+)+\Z")
MEMORY = "memory"  # the release's source of what is only remembered
_RECALLED = (MEMORY, "from memory", "from memory no page found")  # its id, the basis as outputs write it, its title
_OWN = {"kind": "other", "grade": "c", "licence_note": "the grower's own"}


def source_slug(title: str) -> str:
    """The id that a source of that title gets: small letters, of any script, and digits, parted by underscores."""
    letters = without_accents(title.casefold().replace("'", "").replace("’", ""))
    slug = re.sub(r"[\W_]+", "_", letters).strip("_") or "own_notes"
    return slug if slug[0].isalpha() else f"source_{slug}"


def is_memory(text: str) -> bool:
    """Whether the name of a source says that nobody printed it, however it is written: from_memory, From memory."""
    return re.sub(r"[\W_]+", " ", text).strip().casefold() in _RECALLED


def is_source_name(text: str, known: Collection[str]) -> bool:
    """Whether a cell that is no known id may stand for a source by its name."""
    return is_memory(text) or (not _LIKE_AN_ID.match(text) and not near_source(text, known))


def near_source(text: str, known: Collection[str]) -> str | None:
    """The known id that a single small word was probably meant for: memroy is memory, not a source of that name."""
    if not text.isascii() or not text.isalnum() or text != text.lower():
        return None
    import difflib

    close = difflib.get_close_matches(text, known, n=1, cutoff=0.8)
    return close[0] if close and close[0] != text else None


def described(row: Row) -> Row:
    """A row of a layer's sources.csv with what it leaves out: the id from the title, or the title from the id."""
    row["source_id"] = row["source_id"] or source_slug(row["title"])
    row["title"] = row["title"] or row["source_id"].replace("_", " ").capitalize()
    row["lineage"] = row["lineage"] or row["source_id"]
    for column, text in _OWN.items():
        row[column] = row[column] or text
    return row


def _made(name: str, row: Row) -> Row:
    cells = dict.fromkeys(("authors", "publisher", "year", "url", "note"), "")
    return described(
        cells | dict.fromkeys(("source_id", "lineage", *_OWN), "")
        | {"title": name, "layer": row["layer"], "action": "add", "where": row["where"], "at": row["at"]}
    )  # fmt: skip


def settle_sources(rows: dict[str, list[Row]], below: Mapping[str, Row]) -> dict[str, Row]:
    """The sources that a layer brings, by id; in `rows` of its other tables names of sources become ids, in place.

    `below`: the sources of the release and the layers underneath. Raises LayerError where an id is not described, or
    taken already.
    """
    own: dict[str, Row] = {}
    for row in rows.get("sources", []):
        source_id = row["source_id"]
        if row["action"] == "hide":
            raise LayerError(
                f"{row['where']}: a source is not hidden, as figures rest on it; hide the rows that cite it"
            )
        if row["action"] == "add" and (
            source_id in own or (source_id in below and not _same_own(row, below[source_id]))
        ):
            first = own.get(source_id) or below[source_id]
            place = f"layer {first['layer']} ({first['at']})" if first.get("layer") else "the release"
            mend = "use action override to change it, or give yours another source_id"
            if source_id == row["layer"]:
                mend = "the layer itself is a source of that name: give the layer another title, or yours another source_id"
            raise LayerError(f"{row['where']}: source {source_id!r} is described already, in {place}; {mend}")
        if row["action"] == "override" and source_id not in below:
            raise LayerError(f"{row['where']}: no source {source_id!r} to override in the release or the layers below")
        own[source_id] = row
    known = {*below, *own}
    growers = {**{name: row for name, row in below.items() if row.get("layer")}, **own}
    numbers: dict[str, int] = {}
    by_title = {_plain(row["title"]): source_id for source_id, row in growers.items()}
    for table, listed in rows.items():
        for row in listed if table != "sources" else ():
            text = row.get("source_id", "")
            if not text or text in own or text in below:
                continue
            source_id = by_title.get(_plain(text)) or _free_id(text, growers, below, numbers)
            if source_id not in own and source_id not in below:
                if not is_source_name(text, known):
                    near = near_source(text, known)
                    hint = (
                        f"did you mean {near}?"
                        if near
                        else "add it to the layer's sources.csv, or write its name in words"
                    )
                    raise LayerError(f"{row['where']}, source_id: {text!r} is not described; {hint}")
                own[source_id] = growers[source_id] = _made(text, row) | {"source_id": source_id, "lineage": source_id}
                by_title[_plain(text)] = source_id
                known.add(source_id)
            row["source_id"] = source_id
    return own


def _free_id(title: str, growers: Mapping[str, Row], below: Mapping[str, Row], numbers: dict[str, int]) -> str:
    """The id for a grower's source that has no such title yet: one described under that id, else a new one, numbered where
    a source of another title has it, be it a grower's or the release's.
    """
    slug = source_slug(title)
    other = growers.get(slug)
    shipped = below.get(slug) if other is None else None
    if (other and source_slug(other["title"]) != slug) or (shipped and _plain(shipped["title"]) == _plain(title)):
        return slug
    if other is None and shipped is None:
        return slug
    number = numbers.get(slug, 2)
    while f"{slug}_{number}" in growers or f"{slug}_{number}" in below:
        number += 1
    numbers[slug] = number
    return f"{slug}_{number}"


def _plain(title: str) -> str:
    """What two writings of one title share: case, accents, points and apostrophes do not part them, but 1/2 is not 1 2."""
    return re.sub("['’.,]", "", folded(without_accents(title)))


def _same_own(row: Row, below: Row) -> bool:
    """Two layers may name one notebook."""
    return bool(below.get("layer")) and _plain(row["title"]) == _plain(below["title"])
