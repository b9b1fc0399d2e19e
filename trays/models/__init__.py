from trays.models.configuration import Configuration, ConfigurationVersion, Content
from trays.models.count import Count, CountLine
from trays.models.hold import Handover, Hold
from trays.models.incident import Incident
from trays.models.instrument import Instrument
from trays.models.instrument_entry import InstrumentEntry, Way
from trays.models.load import Biological, Load, LoadState, Pack, Wash
from trays.models.machine import Machine, MachineKind
from trays.models.movement import TrayMove, TrayMovement
from trays.models.photo import CountPhoto
from trays.models.return_note import ReturnNote
from trays.models.settings import SterileSettings, settings_of
from trays.models.tray import MissingLine, Tray

__all__ = [
    "Biological",
    "Configuration",
    "ConfigurationVersion",
    "Content",
    "Count",
    "CountLine",
    "CountPhoto",
    "Handover",
    "Hold",
    "Incident",
    "Instrument",
    "InstrumentEntry",
    "Load",
    "LoadState",
    "Machine",
    "MachineKind",
    "MissingLine",
    "Pack",
    "ReturnNote",
    "SterileSettings",
    "Tray",
    "TrayMove",
    "TrayMovement",
    "Wash",
    "Way",
    "settings_of",
]
