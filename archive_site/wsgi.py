"""What gunicorn serves: `gunicorn --threads 4 archive_site.wsgi`."""

import os
import sys

from django.core.exceptions import ImproperlyConfigured
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "archive_site.settings")

try:
    application = get_wsgi_application()
except ImproperlyConfigured as wrong:
    sys.stderr.write(f"Wrapkeep cannot start: {wrong}\n")
    # 3 is gunicorn's "worker failed to boot": it stops instead of starting workers for ever.
    sys.exit(3)
