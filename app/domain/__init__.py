"""Nursery rules: pure functions and frozen dataclasses, no framework, no database, no clock."""
