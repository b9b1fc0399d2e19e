"""Workbooks into the database: compared row by row, shown, then written whole or not at all."""
