"""Germination tests and trials of methods: statistics of small counts and of waiting times."""
