"""Tells whether a magnetic tape head is electrically sound."""
