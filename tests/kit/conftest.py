from django.db import connection

# SQLite has no roles.
collect_ignore = [] if connection.vendor == "postgresql" else ["test_application_role.py"]
