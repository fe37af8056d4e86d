"""Strikewell: the log of a propagation unit."""
