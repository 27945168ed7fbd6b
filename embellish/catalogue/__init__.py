"""What can be bought: pieces, families, catalogues."""
