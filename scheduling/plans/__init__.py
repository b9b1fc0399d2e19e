"""From what a surgeon chooses to a plan, on values alone: no database, no page."""
