"""What a report of an error may tell: where it happened, never what was typed or held there."""

from __future__ import annotations

import logging
from collections.abc import ItemsView
from types import FrameType
from typing import Any

from django.http import HttpRequest
from django.views.debug import SafeExceptionReporterFilter


class NothingTyped(SafeExceptionReporterFilter):
    """PINs, passwords, badges and references stay out, whatever their field is called."""

    def get_post_parameters(self, request: HttpRequest | None) -> dict[str, Any]:
        return dict.fromkeys(request.POST, self.cleansed_substitute) if request else {}

    def get_safe_cookies(self, request: HttpRequest | None) -> dict[str, Any]:
        return dict.fromkeys(request.COOKIES, self.cleansed_substitute) if request else {}

    def get_traceback_frame_variables(
        self, request: HttpRequest | None, tb_frame: FrameType
    ) -> ItemsView[str, Any]:
        return dict.fromkeys(tb_frame.f_locals, self.cleansed_substitute).items()


class WithoutRows(logging.Formatter):
    """Where and why, without the row that PostgreSQL adds to a refusal as its detail."""

    def formatException(self, ei: Any) -> str:
        told = super().formatException(ei).splitlines()
        return "\n".join(line for line in told if not line.startswith("DETAIL:"))
