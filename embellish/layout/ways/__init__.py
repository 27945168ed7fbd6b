"""The ways of laying: one file a way, one entry each in the table of ways."""
