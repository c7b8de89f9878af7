"""What a device may keep of this site: one page without any person in it, and what that page is drawn with.

The page is made without the request, so nothing of who asks can get into it.
"""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.utils.translation import get_language
from django.views import View

from training.pages.recording import words
from training.pages.templatetags.register import STEP_WORDS

SCRIPTS = tuple(
    f"register/bedside-{name}.js" for name in ("store", "send", "paint", "screens", "pages", "lock", "home")
)
STYLES = (
    "bootstrap/css/bootstrap.min.css",
    *(f"register/{name}.css" for name in ("type", "tokens", "components", "pictures", "pages", "print", "recording")),
    "register/bedside.css",
)
FACES = (
    "faces/fira-sans/FiraSans-Regular.ttf",
    "faces/fira-sans/FiraSans-SemiBold.ttf",
    "faces/bitter/Bitter[wght].ttf",
)
FILES = (*STYLES, *SCRIPTS, *FACES, "register/register.js", "register/mark.svg")


class Shell(View):
    """The same page for everybody, signed in or not."""

    def get(self, request: HttpRequest) -> HttpResponse:
        return HttpResponse(page())


class Worker(View):
    """The service worker of the whole site, which keeps the shell and nothing else."""

    def get(self, request: HttpRequest) -> HttpResponse:
        about = {"version": version(get_language(), page()), "files": [static(name) for name in FILES]}
        answer = HttpResponse(render_to_string("bedside/worker.js", about), content_type="text/javascript")
        answer["Service-Worker-Allowed"] = "/"
        answer["Cache-Control"] = "no-cache"
        return answer


def page() -> str:
    about = {
        "idle_seconds": round(settings.BEDSIDE_IDLE_MINUTES * 60),
        "scripts": SCRIPTS,
        "words": STEP_WORDS,
        "interpreters": words.INTERPRETERS.items(),
        "feels": words.FEELS.items(),
    }
    return render_to_string("bedside/shell.html", about)


def version(language: str, shell: str) -> str:
    """A name that changes whenever anything of the shell does."""
    return _version(language, shell) if settings.DEBUG else _version_once(language, shell)


def _version(language: str, shell: str) -> str:
    digest = hashlib.sha256(f"{language}\n{shell}".encode())
    for name in FILES:
        found = finders.find(name)
        digest.update(f"\n{static(name)}\n".encode())
        digest.update(Path(found).read_bytes() if found else b"")
    return digest.hexdigest()[:16]


_version_once = lru_cache(maxsize=8)(_version)
