"""A deed in two steps on one page: what would be signed is shown, then the password is asked for.

What moved in between is shown again, and nothing is signed.
"""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse

from competency.fields import RefusedError
from training.pages.setup.deed import DeedView
from training.pages.setup.fields import EntryForm


class LooksFirst(DeedView):
    """Its form takes ``looking`` (nothing is signed yet), has a hidden field ``shown`` for the digest of what stood on
    the screen, and gives what was typed as ``typed()``.
    """

    @property
    def looking(self) -> bool:
        return "sign" not in self.request.POST

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "looking": self.looking}

    def form_valid(self, form: EntryForm) -> HttpResponse:
        if not self.looking and form.cleaned_data["shown"] == self.digest(form):
            return super().form_valid(form)
        return self.look(form)

    def look(self, form: EntryForm) -> HttpResponse:
        """Show what would be signed, and ask for the password."""
        try:
            self.check(form)
        except RefusedError as refusal:
            form.refuse(refusal, dict(form.places))
            return self.form_invalid(form)
        kwargs = {**self.get_form_kwargs(), "looking": False, "data": None, "files": None}
        initial = {**form.typed(), "intent": form.cleaned_data["intent"], "shown": self.digest(form)}
        again = self.form_class(**{**kwargs, "initial": initial})
        return self.render_to_response(self.get_context_data(form=again, **self.seen(form), changed=not self.looking))

    def form_invalid(self, form: EntryForm) -> HttpResponse:
        """Where only the password or the code was wrong, what would be signed stays on the screen."""
        seen = self.seen(form) if form.lacks_only_proof else {}
        return self.render_to_response(self.get_context_data(form=form, **seen))

    def check(self, form: EntryForm) -> None:
        """Judge what was typed before it is shown. Raises RefusedError."""

    def seen(self, form: EntryForm) -> dict[str, Any]:
        """What would be signed, for the page."""
        raise NotImplementedError

    def digest(self, form: EntryForm) -> str:
        """Of everything that the signature would cover as it stands on the screen."""
        raise NotImplementedError
