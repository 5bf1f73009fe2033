"""Checks on the finished solids: coded findings, collected and reported, never raised."""
