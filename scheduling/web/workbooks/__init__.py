"""The pages on which workbooks go out and come in."""
