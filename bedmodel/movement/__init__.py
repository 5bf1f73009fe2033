"""How a bed's wood swells and shrinks with the air's moisture, and what room it needs.

Print moisture in whole or half per cent and travel to 0.5 mm: the figures bear no more.
The strain and stress of held wood are not printed at all, only a band of risk.
"""
