"""What turns evidence into a published version: formatting, deriving, the data dictionary, hashes."""

from cropdata.release.building import Built, build_package, stale_files

__all__ = ["Built", "build_package", "stale_files"]
