"""Sheets of paper drawn in millimetres, written alike as PDF and as SVG."""
