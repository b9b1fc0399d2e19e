"""Pick lists: what is fetched for a case, on paper and on screen, and what a scan answers."""
