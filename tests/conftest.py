"""What holds for all tests: none is held to the clock, and examples drawn by lot are the same for
all; `--hypothesis-profile drawn` draws others."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile("drawn", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("untimed", settings.get_profile("drawn"), derandomize=True)
settings.load_profile("untimed")
