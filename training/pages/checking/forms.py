"""What is asked of somebody who holds a document."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy


class CheckForm(forms.Form):
    number = forms.CharField(
        label=gettext_lazy("The document’s number"),
        max_length=40,
        required=False,
        help_text=gettext_lazy(
            "12 letters and numbers, at the foot of every page. Big or small, with or without dashes."
        ),
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}),
    )
    file = forms.FileField(
        label=gettext_lazy("The file, if you have it"),
        required=False,
        allow_empty_file=True,
        help_text=gettext_lazy("A PDF as you got it, at most 20 MB. It is compared and not kept."),
        widget=forms.FileInput(attrs={"accept": ".pdf,application/pdf"}),
    )

    def __init__(self, *args: Any, refused: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.refused = refused

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if self.refused:
            self.add_error("file", self.refused)
        if not self.errors and not data.get("number", "").strip() and not data.get("file"):
            self.add_error("number", _("Type the number, or choose the file."))
        return data
