"""What may interrupt a person: few kinds, one a cause, to who can act, gone when the cause is gone.

Everything else is a list on a page.
"""
