"""Solid-wood beds from one sheet of shared parameters, in any mattress size.

Lengths are millimetres, angles degrees, masses kilograms, unless a name says
otherwise. Nothing heavy is imported here: the solid modeller is loaded by the
first function that needs a solid.
"""

__version__ = "0.1.0"
