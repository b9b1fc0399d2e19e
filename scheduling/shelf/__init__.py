"""What the shelf will look like: stock over time, and use-by dates.  Values only."""
