"""Arithmetic: numbers in, numbers out. No word of the nursery, nothing imported from app."""
