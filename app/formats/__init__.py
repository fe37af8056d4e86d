"""Bytes to rows and rows to bytes: sheets. No database and no web here."""
