"""Sterile services as the cases see them: forecasts, the order of work, what a tray is for."""
