"""Knock-down rail fasteners: their cuts, their metal, and which one fits where.

joint frame     at one end of a side rail: origin in the plane between rail and leg,
                at the middle of the rail's thickness and of the fastener's height;
                x up, z square into the leg, y across
face frame      on the rail's inside face, at its end: x along the rail away from
                the leg, z square into the rail
"""
