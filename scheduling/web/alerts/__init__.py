"""Alerts on screen."""
