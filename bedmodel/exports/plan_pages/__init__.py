"""The board plan on paper: pages of boards, an overview, labels to stick, nests of legs."""
