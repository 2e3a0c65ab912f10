"""Property tests never fail on a slow machine's clock; in CI they try the same cases every time."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

settings.register_profile(
    "replybook",
    deadline=None,
    derandomize="CI" in os.environ,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("replybook")
