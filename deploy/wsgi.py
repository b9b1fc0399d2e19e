import os

from django.core.management import call_command
from django.core.wsgi import get_wsgi_application

from deploy.environment import text

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
text("MUSTER_SECRET_KEY")  # a key of its own a worker would log everybody out at random
application = get_wsgi_application()
# A server that starts on a wrong database, such as a site with a set clock, would mislead.
call_command("check", tags=["database"], databases=["default"], deploy=True)
