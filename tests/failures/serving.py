"""A process that makes serving processes: for each line it reads it forks one, which serves the site on a free port.

Run as ``python -m tests.failures.serving [quick]``; it answers each line with {"pid": ..., "port": ...}. It never
opens the database itself, so that no connection crosses a fork. ``quick`` hashes passwords the quick way. A serving
process ends by itself after SECONDS at the latest.
"""

from __future__ import annotations

import json
import os
import signal
import sys
from pathlib import Path

import django

SECONDS = 3600


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "training.settings")
    django.setup()
    _as_in_earnest()
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # the killed are not waited for
    for _line in sys.stdin:
        if os.fork() == 0:
            _serve()


def _as_in_earnest() -> None:
    """No debugging pages; what every request needs is loaded before the fork."""
    from django.conf import settings
    from django.template.loader import get_template
    from django.urls import get_resolver

    settings.DEBUG = False
    if "quick" in sys.argv[1:]:
        settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    _loaded = get_resolver().url_patterns
    folder = Path(settings.BASE_DIR) / "templates"
    for page in (*folder.glob("recording/*.html"), folder / "cannot_save.html"):
        get_template(str(page.relative_to(folder)))


def _serve() -> None:
    from django.core.servers.basehttp import ThreadedWSGIServer, WSGIRequestHandler
    from django.db.backends.signals import connection_created

    from tests.failures.trouble import troubled, watch

    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    signal.alarm(SECONDS)
    os.environ["PGAPPNAME"] = f"serving {os.getpid()}"  # so that its connections are known
    connection_created.connect(watch)
    from training.wsgi import application  # looks whether the triggers are there

    WSGIRequestHandler.log_message = lambda *args: None
    server = ThreadedWSGIServer(("127.0.0.1", 0), WSGIRequestHandler)
    server.daemon_threads = True
    server.request_queue_size = 128
    server.server_activate()
    server.set_app(troubled(application))
    sys.stdout.write(json.dumps({"pid": os.getpid(), "port": server.server_port}) + "\n")
    sys.stdout.flush()
    server.serve_forever()


if __name__ == "__main__":
    main()
