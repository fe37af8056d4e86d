"""Answers for the pages' own script, as JSON; the pages do without them."""
