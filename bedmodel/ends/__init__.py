"""Kinds of head and foot ends: the boards that an end has, and what fills it between them.

One file a kind of fill, one line each in ``kinds``. Records are in ``record``; all of it
is worked out by the skeleton, so no module here knows of a layout.
"""
