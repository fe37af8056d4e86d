"""Commands typed in a terminal."""
