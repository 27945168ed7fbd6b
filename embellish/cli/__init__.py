"""The command line: no arithmetic, no geometry."""
