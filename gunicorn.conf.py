"""How gunicorn serves the site: one line a request, of ids and figures only, and no word about what serves it."""

import gunicorn.http.wsgi

gunicorn.http.wsgi.SERVER = "register"

wsgi_app = "training.wsgi"
accesslog = "-"
# When, method, path, status, bytes, milliseconds. Not who, from where, or what was asked in the address.
access_log_format = "%(t)s %(m)s %(U)s %(s)s %(B)s %(M)sms"
