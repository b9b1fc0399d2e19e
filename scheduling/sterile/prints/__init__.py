"""What sterile services print: labels, count sheets, load lists, retrieval lists, handovers."""
