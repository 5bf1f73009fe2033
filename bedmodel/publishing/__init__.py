"""Packs of many beds: what a pack is, who makes it, where it is kept, the page that shows all."""
