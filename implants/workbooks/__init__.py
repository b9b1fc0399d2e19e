"""The catalogue and the shelf as workbooks, in and out."""
