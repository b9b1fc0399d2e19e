"""What `deploy/demo`, `deploy/test` and `deploy/lock` do.

They run before anything is installed, with any Python 3.11 or later: standard library only.
"""
