"""Words as artwork."""
