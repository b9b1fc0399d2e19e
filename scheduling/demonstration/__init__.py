"""What the demonstration hospital has beside its scenario file: people, loans, orders, waste.

Entered by the operations that the pages call; all invented, and never on a real site."""
