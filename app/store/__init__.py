"""The database: engine and session, models, queries that return frozen dataclasses."""
