"""The middle lines of regions, and pieces of several sizes along them."""
