"""Seats: the frozen layout, the ways that lay it, clashes and edits."""
