"""Reading a small YAML file that somebody else wrote: data only, nothing constructed, nothing that blows up."""

from __future__ import annotations

import os
from typing import Any

from cropdata.errors import InputError

LARGEST = 1_000_000


def read_settings(path: str, what: str = "a layer's settings") -> Any:
    """What the YAML file holds. `what` names it in messages.

    Raises InputError where it cannot be read, is larger than 1 MB, is no valid YAML, gives a key twice, or uses tags,
    anchors or aliases: none is needed, and they can run code or fill the memory.
    """
    import yaml

    class Loader(yaml.SafeLoader):
        """Safe YAML that refuses a key given twice, aliases and tags."""

        def compose_node(self, parent: Any, index: Any) -> Any:
            event = self.peek_event()  # type: ignore[no-untyped-call]
            if isinstance(event, yaml.events.AliasEvent) or getattr(event, "anchor", None):
                raise yaml.YAMLError(f"anchors and aliases (& and *) are not used in {what}")
            if getattr(event, "tag", None) is not None:
                raise yaml.YAMLError(f"tags such as {str(event.tag)[:60]!r} are not used in {what}")
            return super().compose_node(parent, index)

        def construct_mapping(self, node: Any, deep: bool = False) -> Any:
            seen = set()
            for key_node, _ in node.value:
                key = getattr(key_node, "value", None)
                if isinstance(key, str) and key in seen:
                    raise yaml.YAMLError(
                        f"{key!r} stands twice, the second time in line {key_node.start_mark.line + 1}"
                    )
                seen.add(key if isinstance(key, str) else None)
            return super().construct_mapping(node, deep)

    try:
        if os.path.getsize(path) > LARGEST:
            raise InputError(f"is larger than {what} can be", file=path, allowed="up to 1 MB")
        with open(path, encoding="utf-8-sig") as stream:
            return yaml.load(stream.read(), Loader)
    except InputError:
        raise
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}", file=path) from error
    except UnicodeDecodeError as error:
        raise InputError("is not UTF-8", file=path) from error
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        line = f"line {mark.line + 1}: " if mark else ""
        problem = getattr(error, "problem", None) or str(error)
        raise InputError(
            f"is not valid YAML: {line}{problem}", file=path, hint="look at the indents and colons there"
        ) from error
    except RecursionError:
        raise InputError("is nested too deeply", file=path) from None
    except (ValueError, OverflowError) as error:
        raise InputError(f"is not valid YAML: {error}", file=path) from error
