"""Importing this module gives ``Workplane`` the joints as methods; nothing else does.

    import bedmodel.joinery.methods
    leg = leg.faces("<X").workplane().mortises(plan)

A method has the name and the arguments of its function in ``bedmodel.joinery``. Importing it
again, as hosts do, puts the same methods there once more.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import cadquery as cq

from bedmodel.joinery import STEPS

_MARK = "of_bedmodel_joinery"


def _method(function: Callable[..., Any]) -> Callable[..., Any]:
    def method(self: cq.Workplane, *given: Any, **named: Any) -> cq.Workplane:
        return self.invoke(function(*given, **named))

    method.__name__ = function.__name__
    method.__doc__ = function.__doc__
    setattr(method, _MARK, True)
    return method


def attach() -> None:
    """Add the methods. Raises AttributeError for a name that ``Workplane`` has from elsewhere."""
    for function in STEPS:
        name = function.__name__
        there = getattr(cq.Workplane, name, None)
        if there is not None and not hasattr(there, _MARK):
            raise AttributeError(f"Workplane has a method {name} already, not of bedmodel")
    for function in STEPS:
        setattr(cq.Workplane, function.__name__, _method(function))


attach()
