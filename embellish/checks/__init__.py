"""An explicit list of rules over layout and plans."""
