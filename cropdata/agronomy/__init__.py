"""Pure functions of numbers and arrays: no files, no catalog. Units stand in the names.

Each module says its source, where it holds and how far it errs.
"""
