"""The command line: parses, calls, prints. Nothing imports it."""

from cropdata.cli.main import main

__all__ = ["main"]
