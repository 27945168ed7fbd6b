"""What is sewn: marks in hoopings, blocks and order, as designs ready to write."""
