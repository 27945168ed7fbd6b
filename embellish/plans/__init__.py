"""Pure values computed from a layout: stitch, template, work, materials."""
