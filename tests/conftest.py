"""Settings for every test: hypothesis draws the same examples every time unless told to explore."""

import os

from hypothesis import settings

settings.register_profile("same", derandomize=True, database=None)
settings.register_profile("explore", derandomize=False)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))
