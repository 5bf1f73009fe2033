"""The plan book: one PDF that a maker can build the bed from, chapter by chapter."""
