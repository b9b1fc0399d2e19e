"""When a tray will be through: asked of whoever knows the department's opening hours."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from trays.models import Tray
from trays.stages import Stage

Forecast = Callable[[Tray, Stage], datetime]
"""When a tray that comes to the stage now will be sterile and released."""
