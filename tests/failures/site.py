"""From outside: processes that serve the site, and a person with a browser of sorts."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import subprocess
import sys
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode

from django.db import connection
from django.test import Client

from tests.factories import PASSWORD
from training.people.models import User

HERE = Path(__file__).resolve().parents[2]


def url_of_database() -> str:
    """DATABASE_URL of the database the tests run on."""
    about = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite://{about['NAME']}"
    who = f"{quote(about['USER'])}:{quote(about['PASSWORD'])}@" if about["USER"] else ""
    return f"postgres://{who}{quote(about['HOST'], safe='')}:{about['PORT']}/{about['NAME']}"


@dataclass
class Server:
    """A serving process."""

    pid: int
    port: int

    def kill(self) -> None:
        try:
            os.kill(self.pid, signal.SIGKILL)
        except ProcessLookupError:
            return


@dataclass
class Site:
    """The maker of serving processes; all of them are gone when the block ends."""

    maker: subprocess.Popen[str]
    servers: list[Server] = field(default_factory=list)

    def serve(self) -> Server:
        self.maker.stdin.write("serve\n")
        self.maker.stdin.flush()
        line = self.maker.stdout.readline()
        assert line, "the maker of serving processes has ended"
        self.servers.append(Server(**json.loads(line)))
        return self.servers[-1]


@contextmanager
def site(*words: str) -> Iterator[Site]:
    """Start the maker of serving processes on the tests' database."""
    maker = subprocess.Popen(
        [sys.executable, "-W", "error::ResourceWarning", "-m", "tests.failures.serving", *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=HERE,
        env={**os.environ, "DATABASE_URL": url_of_database(), "DEBUG": "yes"},
    )
    made = Site(maker)
    try:
        yield made
    finally:
        for server in made.servers:
            server.kill()
        maker.stdin.close()
        maker.wait(timeout=20)
        maker.stdout.close()


@dataclass
class Answer:
    status: int
    text: str
    location: str
    statements: list[str]

    @property
    def said(self) -> str:
        """The page's own words."""
        main = self.text.partition("<main")[2].partition("</main>")[0]
        return " ".join(re.sub(r"<[^>]+>", " ", main.partition(">")[2]).split())


class UnansweredError(Exception):
    """The connection ended without an answer."""


class Person:
    """Somebody signed in, with cookies, who reads forms and sends them."""

    def __init__(self, user: User) -> None:
        client = Client()
        client.force_login(user)
        self.cookies = {name: morsel.value for name, morsel in client.cookies.items()}

    def ask(
        self, server: Server, method: str, path: str, sent: dict[str, str] | None = None, trouble: Any = None
    ) -> Answer:
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if sent is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        if trouble is not None:
            headers["X-Trouble"] = json.dumps(trouble)
        line = http.client.HTTPConnection("127.0.0.1", server.port, timeout=300)
        try:
            line.request(method, path, urlencode(sent) if sent is not None else None, headers)
            answer = line.getresponse()
            text = answer.read().decode()
        except (http.client.HTTPException, ConnectionError) as error:
            raise UnansweredError from error
        finally:
            line.close()
        for morsel in answer.headers.get_all("Set-Cookie") or ():
            name, _, value = morsel.partition(";")[0].partition("=")
            self.cookies[name] = value
        statements = json.loads(answer.headers.get("X-Statements", "[]"))
        return Answer(answer.status, text, answer.headers.get("Location", ""), statements)

    def form(self, server: Server, path: str) -> dict[str, str]:
        """What the page's form with a password sends, the password filled in."""
        page = self.ask(server, "GET", path)
        assert page.status == 200, (page.status, page.location)
        return {**_hidden(page.text), "password": PASSWORD}

    def sign(self, server: Server, draft: uuid.UUID, trouble: Any = None) -> Answer:
        """Open the page that signs a draft, and send its form."""
        path = sign_path(draft)
        return self.ask(server, "POST", path, self.form(server, path), trouble)


def sign_path(draft: uuid.UUID) -> str:
    return f"/drafts/{draft}/sign/"


class _Forms(HTMLParser):
    """The fields of each form of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[dict[str, str]] = []
        self.signing: dict[str, str] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        about = dict(attrs)
        if tag == "form":
            self.forms.append({})
        elif tag == "input" and self.forms and about.get("name"):
            if about.get("type") == "password":
                self.signing = self.forms[-1]
            else:
                self.forms[-1][about["name"]] = about.get("value") or ""


def _hidden(page: str) -> dict[str, str]:
    reader = _Forms()
    reader.feed(page)
    assert reader.signing is not None, "the page asks for no password"
    return reader.signing
