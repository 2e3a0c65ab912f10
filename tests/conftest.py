"""Property tests never fail on a slow machine's clock; in CI they try the same cases every time."""

from __future__ import annotations

import os
import signal

from hypothesis import HealthCheck, settings

settings.register_profile(
    "replybook",
    deadline=None,
    derandomize="CI" in os.environ,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("replybook")

# Started in the background of a script we would ignore Ctrl-C, and so would the programs
# that the tests start and interrupt.
if signal.getsignal(signal.SIGINT) == signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)
