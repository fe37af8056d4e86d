"""Two seasons of an invented nursery, told through the same services that people use.

Nursery, people, suppliers and every number are invented. The same seed and anchor date tell the
same story.
"""
