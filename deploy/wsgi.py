import gc
import os
from io import StringIO

from django.core.management import call_command
from django.core.wsgi import get_wsgi_application
from django.db import connections
from django.urls import resolve

from deploy.environment import text

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
text("MUSTER_SECRET_KEY")  # a key of its own a worker would log everybody out at random
application = get_wsgi_application()
# A server on a wrong database (a rule missing, a migration undone, a set clock) would mislead: it
# does not start, and says why.  What it prints where all is well would be noise in every worker.
call_command("check", tags=["database"], databases=["default"], deploy=True, stdout=StringIO())
# A server that has read this first and parts into workers then must not share a connection.
connections.close_all()
# A worker that answers has read all pages: else its first people would wait for it to.  What has
# been read stays, so that no collection of garbage need look at it again.
resolve("/")
gc.collect()
gc.freeze()
