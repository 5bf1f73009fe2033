"""Will it sag, wobble or break: reckoned from a bed's layout, without the solid modeller.

Everything here is a design aid from average clear-wood figures; it proves nothing about
a bed made, and nothing about any standard. Print ``CAUTIONS`` with every answer.
"""

CAUTIONS = (
    "A design aid from average figures of clear wood: not a structural certificate, not a test "
    "report, and no proof that a bed meets any standard.",
    "For sale or public use have the bed tested by an accredited house to the standard in force; "
    "where law or insurance asks, a licensed engineer decides.",
    "Assumes clear, straight-grained, dry, sound wood, full glue and right pilot holes. A knot, "
    "grain that runs off, or a split makes the strength lines void.",
    "Adult low beds only: no cots, children's, bunk, loft, adjustable, hospital, water or hanging "
    "beds, and no base 600 mm or more above the floor.",
    "Gaps that can trap a head, limb or finger are only pointed out, not judged.",
    "Metal of hooks and fasteners is judged only by a rating that you enter.",
    "The floor and its unevenness are yours to check; check screws and hooks again after the "
    "first dry season.",
)
