"""SVG drawings as artwork."""
