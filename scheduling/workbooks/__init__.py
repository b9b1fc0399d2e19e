"""The house, its techniques, case lists and plans as workbooks; and the list of all workbooks."""
