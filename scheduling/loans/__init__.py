"""Loans: what a supplier lends for a while, trays and boxes as one consignment."""
