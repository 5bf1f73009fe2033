"""The jigs of one bed, one module a kind of jig, solved from its layout without a solid.

legs      templates that the router follows round the legs
plates    plates that guide the router in the mortises
sled      carries a leg past the saw blade at the splay
cauls     wedges that make the clamp faces of splayed legs parallel
spacers   blocks as wide as the gap between slats
"""

from __future__ import annotations
