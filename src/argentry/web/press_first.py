"""A press at the bench goes before what is worked out beside: that stands still for the while."""

from __future__ import annotations

import re
from contextlib import ExitStack
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from starlette.types import ASGIApp, Receive, Scope, Send

    from argentry.web.helper import Helper

PRESS = re.compile(r"/api/runs/[^/]+/events")


class PressFirst:
    """ASGI middleware, behind the guard: the processes beside rest while a press is answered.

    Parameters
    ----------
    app : ASGIApp
        What is behind it.
    helpers : callable
        The processes that stand still.
    """

    def __init__(self, app: ASGIApp, helpers: Callable[[], Sequence[Helper]]) -> None:
        self.app, self.helpers = app, helpers

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand a request on, with the machine to itself where it is a press."""
        with ExitStack() as resting:
            posted = scope["type"] == "http" and scope["method"] == "POST"
            if posted and PRESS.fullmatch(scope["path"]):
                for helper in self.helpers():
                    resting.enter_context(helper.still())
            await self.app(scope, receive, send)
