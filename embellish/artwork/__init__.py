"""Where pieces may go: shapes in millimetres, and their readers."""
