"""What was used and what was wasted: boxes, and what those with a price cost."""
