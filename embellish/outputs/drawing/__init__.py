"""Drawings recorded once in millimetres and replayed to each format."""
