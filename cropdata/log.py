"""The package's one logger, `cropdata`: silent unless the program that imports us sets it up."""

from __future__ import annotations

TYPE_CHECKING = False
if TYPE_CHECKING:
    import logging


def logger() -> logging.Logger:
    """The logger `cropdata`. `logging` itself is imported only here: it costs as much as a look-up."""
    import logging

    log = logging.getLogger("cropdata")
    if not log.handlers:
        log.addHandler(logging.NullHandler())
    return log
