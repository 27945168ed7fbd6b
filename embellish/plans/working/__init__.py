"""The order of work: cutting, sewing, pressing, setting, with its cautions."""
