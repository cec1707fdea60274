"""Before anything else: does a descriptor point outside its folder, to the network, or to code?

A data package from somebody else is data only. Whatever the standard allows beyond plain CSV files in the folder is
refused here, before any library that would follow it sees the descriptor.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from cropdata.tabular.location import DESCRIPTOR
from cropdata.validation.files import whole_file
from cropdata.validation.report import Finding

# After these, no other library is shown the package: it would follow the path, fetch the address or fill the memory.
KEPT_FROM_LIBRARIES = ("descriptor", "path-outside", "path-link", "descriptor-reference", "descriptor-code", "file-unreadable", "file-not-text",
                       "file-nul-byte", "file-long-line", "file-columns", "file-large", "file-quotes", "file-stopped")  # fmt: skip
_STANDARD = "https://datapackage.org/profiles/"
# What a resource of the standard, or of a library that reads it, may ask for and a table of ours never needs.
_EXECUTED = ("control", "pipeline", "steps", "transforms", "checklist", "detector", "extrapaths", "innerpath", "compression",
             "basepath", "data", "jsonschema")  # fmt: skip
_ONLY = {
    "scheme": ("file",),
    "format": ("csv",),
    "mediatype": ("text/csv",),
    "encoding": ("utf-8", "utf8"),
    "type": ("table",),
}
_DIALECT = ("$schema", "header", "headerRows", "delimiter", "lineTerminator", "quoteChar", "doubleQuote", "escapeChar",
            "nullSequence", "skipInitialSpace", "commentChar", "caseSensitiveHeader", "csvddfVersion")  # fmt: skip


def is_outside(path: object) -> bool:
    """True where a path leaves the folder, is absolute, is an address, or is no text."""
    if not isinstance(path, str) or not path:
        return True
    return (
        path.startswith(("/", "~"))
        or ".." in path.split("/")
        or any(sign in path for sign in "\\:\0")
        or not path.isprintable()
    )


def descriptor_findings(raw: Mapping[str, Any]) -> Iterator[Finding]:
    """Paths that leave the folder, schemas and dialects named by address, and whatever would run or fetch something."""
    yield from _addresses("the package", raw)
    yield from _refused("the package", raw, _EXECUTED)
    for resource in raw["resources"]:
        if not isinstance(resource, Mapping):
            continue  # told with the shape
        name = f"resource {str(resource.get('name'))[:60]!r}"
        path = resource.get("path")
        if is_outside(path):
            yield whole_file(DESCRIPTOR, "path-outside", f"the path of {name} leaves the package or is no local file", found=str(path)[:200],
                             allowed="a path inside the folder, with / between its parts", hint="put the file into the package")  # fmt: skip
        yield from _addresses(name, resource)
        yield from _refused(name, resource, _EXECUTED)
        for key, allowed in _ONLY.items():
            value = resource.get(key)
            if value is not None and str(value).lower() not in allowed:
                yield whole_file(DESCRIPTOR, "descriptor-code", f"{name} asks for another {key}", found=str(value)[:200],
                                 allowed=" or ".join(allowed), hint="only plain CSV files are read; nothing is run or fetched")  # fmt: skip
        for part in ("schema", "dialect"):
            value = resource.get(part)
            if value is not None and not isinstance(value, Mapping):
                yield whole_file(DESCRIPTOR, "descriptor-reference", f"{name} names its {part} by path or address", found=str(value)[:200],
                                 allowed=f"the {part} itself", hint=f"write the {part} into the descriptor")  # fmt: skip
            elif value is not None:
                yield from _addresses(f"{part} of {name}", value)
        dialect = resource.get("dialect")
        if isinstance(dialect, Mapping):
            yield from _refused(f"dialect of {name}", dialect, [key for key in dialect if key not in _DIALECT])


def _addresses(name: str, part: Mapping[str, Any]) -> Iterator[Finding]:
    for key in ("$schema", "profile"):
        value = part.get(key)
        if value is None or (
            isinstance(value, str) and (value.startswith(_STANDARD) or value.replace("-", "").isalpha())
        ):
            continue
        yield whole_file(DESCRIPTOR, "descriptor-reference", f"{name} names a {key} that would be fetched", found=str(value)[:200],
                         allowed=f"one that begins with {_STANDARD}", hint=f"delete {key}, or name the standard's")  # fmt: skip


def _refused(name: str, part: Mapping[str, Any], keys: Any) -> Iterator[Finding]:
    for key in keys:
        if key in part:
            yield whole_file(DESCRIPTOR, "descriptor-code", f"{name} has {str(key)[:60]!r}, which could run or fetch something", found=str(part[key])[:200],
                             allowed="plain CSV files, described by name, path and schema", hint="delete it")  # fmt: skip
