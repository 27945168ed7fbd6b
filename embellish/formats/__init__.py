"""Each file-format library wrapped once, for readers and writers."""
