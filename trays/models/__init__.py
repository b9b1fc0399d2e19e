from trays.models.configuration import Configuration, ConfigurationVersion, Content
from trays.models.instrument import Instrument
from trays.models.movement import TrayMove, TrayMovement
from trays.models.tray import MissingLine, Tray

__all__ = [
    "Configuration",
    "ConfigurationVersion",
    "Content",
    "Instrument",
    "MissingLine",
    "Tray",
    "TrayMove",
    "TrayMovement",
]
