"""Workbooks in and out: the one safe way to read what people send and to write what they get."""
