"""Drawings: views of the solids laid out on sheets, in one DXF document that PDF and SVG show."""
