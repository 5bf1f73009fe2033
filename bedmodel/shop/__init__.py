"""What the shop needs to make the parts: templates, cutter offsets and what the cut leaves."""
