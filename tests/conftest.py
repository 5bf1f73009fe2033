"""Settings for all tests."""

from __future__ import annotations

import os

from hypothesis import settings

# Under CI the property tests draw the same cases each time, so that a run says
# something of the change alone; elsewhere each run draws new ones.
settings.register_profile("ci", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("ci")
