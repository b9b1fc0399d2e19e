"""Tracing both ways: from a LOT, a serial, a box, a tray or a steriliser load to the cases, and
from a case to everything that happened for it."""
