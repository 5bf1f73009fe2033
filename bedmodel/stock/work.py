"""A budget of work, so that the same input gives the same plan on a fast or slow machine."""

from __future__ import annotations


class OutOfWork(Exception):
    """The budget is used up; what was found so far still holds."""


class Work:
    """Counts steps of a search and stops it at a limit."""

    def __init__(self, limit: int) -> None:
        self.left = limit

    def spend(self, steps: int = 1) -> None:
        """Take steps off the budget. Raises OutOfWork when none are left."""
        self.left -= steps
        if self.left < 0:
            raise OutOfWork


def unlimited() -> Work:
    """A budget for what is short by itself and has to be done."""
    return Work(10**18)
