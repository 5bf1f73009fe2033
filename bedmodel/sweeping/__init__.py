"""Many beds of one sheet: parameters varied over ranges, and what comes of them."""
