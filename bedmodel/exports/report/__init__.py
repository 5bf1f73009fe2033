"""The report: one HTML page with a view to turn, the parts, joints, checks and lists of a bed."""
