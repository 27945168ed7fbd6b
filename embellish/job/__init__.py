"""The job file and the run from it to a result."""
