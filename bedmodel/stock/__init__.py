"""Rough wood: the boards on the rack, what is wanted from them, and the plan of cuts."""
