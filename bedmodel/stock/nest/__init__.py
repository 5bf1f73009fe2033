"""Nesting curved parts: legs on thick planks, plates and templates on sheet goods."""
