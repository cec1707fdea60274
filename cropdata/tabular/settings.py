"""Reading a small YAML file that somebody else wrote: data only, nothing constructed, nothing that blows up."""

from __future__ import annotations

import os
from typing import Any

from cropdata.errors import InputError

LARGEST = 1_000_000
DEEPEST = 50


def read_settings(path: str, what: str = "a layer's settings") -> Any:
    """What the YAML file holds. `what` names it in messages.

    Raises InputError where it cannot be read, is larger than 1 MB, is no valid YAML, gives a key twice, or uses tags,
    anchors or aliases: none is needed, and they can run code or fill the memory.
    """
    import yaml

    # The C reader, where the installed PyYAML has it, is several times faster on long lists.
    fastest = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

    class Loader(fastest):  # type: ignore[misc, valid-type]
        """Safe YAML that refuses a key given twice."""

        def construct_mapping(self, node: Any, deep: bool = False) -> Any:
            seen = set()
            for key_node, _ in node.value:
                # As read, not as written: 0.5 and 0.50 are one chance.
                key = self.construct_object(key_node) if isinstance(key_node, yaml.ScalarNode) else None
                if key is not None and key in seen:
                    raise yaml.YAMLError(
                        f"{key_node.value!r} stands twice, the second time in line {key_node.start_mark.line + 1}"
                    )
                seen.add(key)
            return super().construct_mapping(node, deep)

    def date_or_text(loader: Any, node: Any) -> Any:
        """What looks like a date and is none (2027-02-30) stays a text: its reader tells where it stands and what is allowed."""
        try:
            return loader.construct_yaml_timestamp(node)
        except (ValueError, OverflowError):
            return node.value

    Loader.add_constructor("tag:yaml.org,2002:timestamp", date_or_text)

    def look(text: str) -> None:
        """Refuse, before anything is built, what is not needed and can do harm."""
        depth = 0
        for event in yaml.parse(text, fastest):
            if isinstance(event, yaml.events.AliasEvent) or getattr(event, "anchor", None):
                raise yaml.YAMLError(f"anchors and aliases (& and *) are not used in {what}")
            if (tag := getattr(event, "tag", None)) is not None:
                raise yaml.YAMLError(f"tags such as {str(tag)[:60]!r} are not used in {what}")
            depth += isinstance(event, yaml.events.CollectionStartEvent)
            depth -= isinstance(event, yaml.events.CollectionEndEvent)
            if depth > DEEPEST:
                raise RecursionError

    try:
        if os.path.getsize(path) > LARGEST:
            raise InputError(f"is larger than {what} can be", file=path, allowed="up to 1 MB")
        with open(path, encoding="utf-8-sig") as stream:
            text = stream.read()
        look(text)
        return yaml.load(text, Loader)
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
        if "nesting depth" in problem:  # the C reader has a limit of its own
            raise InputError("is nested too deeply", file=path) from error
        raise InputError(
            f"is not valid YAML: {line}{problem}", file=path, hint="look at the indents and colons there"
        ) from error
    except RecursionError:
        raise InputError("is nested too deeply", file=path) from None
    except (ValueError, OverflowError) as error:
        # What YAML takes for a number and Python cannot make one of: a number of 5000 digits.
        what_not = "a number of thousands of digits" if "digits" in str(error) else f"a number that is none, {error}"
        raise InputError(f"holds {what_not}", file=path) from error
