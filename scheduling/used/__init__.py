"""What was used and what was wasted: counts by case, surgeon and month.  No price is recorded."""
