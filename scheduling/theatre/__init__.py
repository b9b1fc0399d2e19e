"""The operation itself: the check of a label before its box is opened, and what came of it."""
