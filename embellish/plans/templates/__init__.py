"""What is cut: templates with their holes, walls, groups, tiles and labels."""
