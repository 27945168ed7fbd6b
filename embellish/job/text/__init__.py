"""The text of a job file, and changes written into it as a careful person would."""
