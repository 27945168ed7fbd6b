"""One writer a document."""
