"""A scenario file into an empty database, and the database as a scenario file."""

from scheduling.scenario_files.export import export_scenario
from scheduling.scenario_files.load import Clock, NotEmpty, load, load_scenario

__all__ = ["Clock", "NotEmpty", "export_scenario", "load", "load_scenario"]
