"""The free distance between outlines, exact on arcs: for pairs, neighbours, whole layouts."""
