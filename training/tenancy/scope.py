"""Who is asking, told to PostgreSQL with every statement of a request.

Each statement is preceded, in the same message, by a setting that ends with its transaction. So nothing is left on a
connection that the next request gets, in a pool or not; a savepoint rolled back takes nothing away; and a deed keeps
the short transaction of its own, in which no password is hashed. Outside a request nothing is set, and a role that owns
nothing then sees nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Any

from django.contrib.auth.signals import user_logged_in, user_logged_out
from django.db import DEFAULT_DB_ALIAS, connection, connections
from django.http import HttpRequest, HttpResponse

from training.tenancy.replica import REPLICA

# These touch no row, and after an error PostgreSQL takes no other statement before them.
_NOT_PRECEDED = ("SAVEPOINT", "RELEASE", "ROLLBACK")


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """account: who is signed in. organisation: where they work as staff; None for a caregiver or the way in."""

    account: int | None = None
    organisation: int | None = None

    @property
    def setting(self) -> str:
        """One statement; both values are our own numbers."""
        return (
            f"SELECT set_config('register.account', '{self.account or ''}', true), "
            f"set_config('register.organisation', '{self.organisation or ''}', true); "
        )


_scope: ContextVar[Scope] = ContextVar("scope", default=Scope())  # noqa: B039 - frozen


def work_in(organisation: int) -> None:
    """From here on the request is that of this organisation's staff, and its caregiver's rows are closed to it."""
    _scope.set(Scope(account=_scope.get().account, organisation=organisation))


def current() -> Scope:
    return _scope.get()


@contextmanager
def inside(organisation: int) -> Iterator[None]:
    """The statements in here are that organisation's: the other side's part of a hand-over, in the same transaction.

    Read in full before leaving: what is still to be read outside is read as who asks there.
    """
    with _as(Scope(account=_scope.get().account, organisation=organisation)):
        yield


@contextmanager
def as_account(account: int) -> Iterator[None]:
    """The statements in here are this account's own, in none of its places: all of them are seen, and nothing else."""
    with _as(Scope(account=account)):
        yield


@contextmanager
def filed_in(organisation: int) -> Iterator[None]:
    """What a caregiver or the way in adds to an organisation's log, and what their own papers rest on there.

    Staff stay in their own organisation.
    """
    with _as(_scope.get()) if _scope.get().organisation is not None else inside(organisation):
        yield


@contextmanager
def _as(scope: Scope) -> Iterator[None]:
    token = _scope.set(scope)
    try:
        yield
    finally:
        _scope.reset(token)


# What names an organisation to somebody who is not in it. The database answers with its number and no more. ----------


def inviting(key: str) -> int | None:
    """The organisation of the invitation with this digest or public id. Only PostgreSQL is asked: it needs to know."""
    return _named("register_inviting", key)


def with_handover_code(code: str) -> int | None:
    """The organisation that tells this code to others. Only PostgreSQL is asked."""
    return _named("register_with_handover_code", code)


def giving_out(wanted: str) -> int | None:
    """The organisation that gave out the document of this number, or of this digest. Only PostgreSQL is asked."""
    return _named("register_giving_out", wanted)


def _named(function: str, key: str) -> int | None:
    if connection.vendor != "postgresql":
        return None
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {function}(%s)", [key])
        found: int | None = cursor.fetchone()[0]
    return found


@contextmanager
def scoped(*, account: int | None = None, organisation: int | None = None) -> Iterator[None]:
    """Every statement in here is asked as this account, in this organisation; a replica is told too."""
    token = _scope.set(Scope(account=account, organisation=organisation))
    try:
        with ExitStack() as wrappers:
            for alias in {DEFAULT_DB_ALIAS, REPLICA} & set(connections):
                wrappers.enter_context(connections[alias].execute_wrapper(_say_who))
            yield
    finally:
        _scope.reset(token)


def _say_who(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: dict[str, Any]) -> Any:
    if sql.startswith(_NOT_PRECEDED):
        return execute(sql, params, many, context)
    if many:
        raise NotImplementedError("One statement at a time: PostgreSQL is told who asks with each.")
    answer = execute(_scope.get().setting + sql, params, many, context)
    context["cursor"].cursor.nextset()  # past the setting's own answer
    return answer


class WhoAsks:
    """On PostgreSQL each request is told apart by its account; a staff page adds its organisation."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if connection.vendor != "postgresql":
            return self.get_response(request)
        with scoped(account=request.user.pk):
            return self.get_response(request)


def follow_signing_in() -> None:
    """Who signs in during a request is who asks from there on; who signs out asks as nobody."""
    user_logged_in.connect(_signed_in, dispatch_uid="tenancy")
    user_logged_out.connect(_signed_out, dispatch_uid="tenancy")


def _signed_in(user: Any, **kwargs: Any) -> None:
    _scope.set(Scope(account=user.pk))


def _signed_out(**kwargs: Any) -> None:
    _scope.set(Scope())
