"""Rates corrected by what jobs truly took: the work log, and the sums over it."""
