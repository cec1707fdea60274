"""The data package as files: where it lies, what its descriptor says, how its rows are read."""
