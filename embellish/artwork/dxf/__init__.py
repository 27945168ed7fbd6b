"""DXF drawings as artwork."""
