"""Arrays in, arrays out: knows no pieces, no files."""
