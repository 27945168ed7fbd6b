"""Pieces along a line with equal straight gaps: corners pinned, tips even, closed lines closing."""
