"""embellish: lay out beads, sequins and crystals on garments, and make all that the work needs."""

__version__ = "0.1.0"
