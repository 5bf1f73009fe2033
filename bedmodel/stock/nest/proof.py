"""stub"""
from __future__ import annotations
from typing import Any
def prove(*a: Any) -> tuple[()]:
    return ()
