"""Waiting for what another process or thread does: asked often, with a deadline, and words when it passes."""

import time
from collections.abc import Callable
from typing import Any

BETWEEN_QUESTIONS_S = 0.05


def wait_until(is_so: Callable[[], Any], what: str, deadline_s: float, told: Callable[[], str] = str) -> Any:
    """Give the answer once it is true; when the deadline passes, fail with words and what `told` adds."""
    end_s = time.monotonic() + deadline_s
    while not (answer := is_so()):
        if time.monotonic() > end_s:
            raise AssertionError(f"Not within {deadline_s:.0f} s: {what}. {told()}")
        time.sleep(BETWEEN_QUESTIONS_S)
    return answer
