"""Use cases: functions that change things and write the history line; they never commit."""
