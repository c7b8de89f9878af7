"""The look holds: words, marks, contrast, no inline code, no distant address, errors that can be heard."""

import re
from datetime import date, datetime
from pathlib import Path
from types import SimpleNamespace

import pytest
from django import forms
from django.contrib.auth.models import AnonymousUser
from django.contrib.staticfiles import finders
from django.http import HttpResponse
from django.template import Context, Template, engines
from django.template.loader import get_template, render_to_string
from django.test import RequestFactory, override_settings
from django.utils import translation

from training.pages import context, errors, middleware
from training.pages.templatetags import register as look

ROOT = Path(__file__).resolve().parents[3]
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
STYLES = ROOT / "training/pages/static/register"
TOKENS = re.sub(r"/\*.*?\*/", "", (STYLES / "tokens.css").read_text(), flags=re.DOTALL)
SPRITE = (ROOT / "templates/_marks.html").read_text()
STANDINGS = (
    "not_required", "not_started", "in_training", "awaiting", "signed_off", "held", "lapsed", "withdrawn",
)  # fmt: skip
MAY_14 = date(2026, 5, 14)


def drawn(text, **names):
    return Template("{% load register %}" + text).render(Context(names))


def asked(path="/", data=None, **headers):
    request = RequestFactory().post(path, data, **headers) if data is not None else RequestFactory().get(path)
    request.user = AnonymousUser()
    return request


# The tokens


def block_after(selector):
    return re.search(re.escape(selector) + r"\s*\{(.*?)\}", TOKENS, re.DOTALL).group(1)


def declared(block):
    return {name: value.strip() for name, value in re.findall(r"([\w-]+)\s*:\s*([^;]+);", block)}


LIGHT = declared(block_after('[data-bs-theme="light"]'))
DARK = declared(block_after('[data-bs-theme="dark"]'))


def test_the_two_dark_blocks_are_equal():
    assert declared(block_after(":root:not([data-bs-theme])")) == DARK


def test_dark_says_every_colour_that_light_says():
    assert LIGHT.keys() - DARK.keys() == {"--not-asked-tint"}  # transparent in both


def test_paper_is_always_light():
    assert re.findall(r"@media ([^{]+?) *\{\s*(?:\[data-bs-theme=\"dark\"\]|:root:not)", TOKENS) == [
        "screen",
        "screen and (prefers-color-scheme: dark)",
    ]


def brightness(colour):
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    dim, bright = sorted((brightness(one), brightness(other)))
    return (bright + 0.05) / (dim + 0.05)


TEXTS = (
    "--ink", "--ink-2", "--act", "--signed", "--training", "--awaiting", "--held", "--lapsed", "--withdrawn",
    "--unstarted", "--not-asked",
)  # fmt: skip


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("paper", ["--ground", "--surface", "--sunk"])
@pytest.mark.parametrize("text", TEXTS)
def test_text_can_be_read_on_paper(theme, paper, text):
    assert contrast(theme[text], theme[paper]) >= 4.5


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize(
    ("text", "fill"),
    [
        ("--on-act", "--act-fill"),
        ("--on-act", "--act-fill-strong"),
        ("--on-tab", "--tab"),
        ("--on-signed", "--signed-fill"),
        ("--surface", "--held"),
        ("--ink", "--held-tint"),
        ("--lapsed", "--lapsed-tint"),
        ("--ink", "--act-tint"),
    ],
)
def test_text_can_be_read_on_a_fill(theme, text, fill):
    assert contrast(theme[text], theme[fill]) >= 4.5


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("line", ["--edge", "--focus"])
@pytest.mark.parametrize("paper", ["--ground", "--surface"])
def test_what_can_be_touched_can_be_seen(theme, line, paper):
    assert contrast(theme[line], theme[paper]) >= 3


@pytest.mark.parametrize("style", sorted(STYLES.glob("*.css")), ids=lambda path: path.name)
def test_styles_follow_the_direction_of_writing(style):
    sided = re.compile(
        r"(?<![\w-])(?:margin|padding|border)-(?:left|right)|(?<![\w-])(?:left|right)\s*:|float: (?:left|right)"
    )

    assert sided.findall(style.read_text()) == []


@pytest.mark.parametrize("style", sorted(STYLES.glob("*.css")), ids=lambda path: path.name)
def test_styles_use_only_tokens_that_exist(style):
    known = set(re.findall(r"(--[\w-]+)\s*:", TOKENS)) | {"--c", "--c-tint"}

    assert set(re.findall(r"var\((--[\w-]+)", style.read_text())) - known == set()


# Marks and words


def test_every_standing_has_its_words():
    assert set(look.STANDING_WORDS) == set(STANDINGS)


@pytest.mark.parametrize("standing", STANDINGS)
@pytest.mark.parametrize("pause", [False, True])
def test_a_standing_has_a_shape_and_two_words(standing, pause):
    words = look.HELD_BY_A_HOLD if pause else look.STANDING_WORDS[standing]

    assert str(words.staff)
    assert str(words.caregiver)
    assert f'id="{look.MARKS[words.staff_mark]}"' in SPRITE
    assert f'id="{look.MARKS[words.caregiver_mark]}"' in SPRITE


@pytest.mark.parametrize("name", sorted(look.MARKS))
def test_every_mark_is_drawn_once(name):
    assert SPRITE.count(f'<symbol id="{look.MARKS[name]}"') == 1


@pytest.mark.parametrize("standing", STANDINGS)
@pytest.mark.parametrize("pause", [False, True])
@pytest.mark.parametrize("waiting_for", ["", "skill", "prescriber"])
def test_a_caregiver_never_reads_a_hard_word(standing, pause, waiting_for):
    read = str(look.standing_plain(standing, pause=pause, waiting_for=waiting_for)).lower()

    assert [word for word in ("failed", "lapsed", "withdrawn", "unsafe") if word in read] == []


def test_a_caregiver_never_sees_the_cross():
    assert "m-withdrawn" not in {look.MARKS[w.caregiver_mark] for w in look.STANDING_WORDS.values()}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('{% standing_mark "signed_off" %}', "Signed off"),
        ('{% standing_mark "held" pause=True %}', "Held (a hold)"),
        ("{% standing_mark None %}", "no care plan yet"),
        ('{% step_mark "outside" %}', "Outside the limit"),
        ("{% step_mark None %}", "choose"),
        ('{% outcome_mark "not_passed" %}', "Not passed"),
        ('{% verdict_mark "ready_by_exception" %}', "Ready by exception"),
        ('{% standing_word "lapsed" %}', "Lapsed"),
        ('{% step_word "prompted" %}', "Prompted"),
        ('{% outcome_word "disputed" %}', "Disputed"),
        ('{% verdict_word "not_ready" %}', "Not ready"),
        ('{% standing_plain "held" %}', "please show us again"),
        ('{% standing_plain "held" waiting_for="prescriber" %}', "waiting for the prescriber’s yes"),
    ],
)
def test_a_tag_says_its_word(text, says):
    assert re.sub(r"<[^>]+>", "", drawn(text)) == says


def test_a_mark_is_kept_from_screen_readers():
    assert drawn('{% mark "attention" %}') == (
        '<svg class="r-mark" aria-hidden="true" focusable="false"><use href="#m-attention"></use></svg>'
    )


def test_a_withdrawn_skill_shows_a_caregiver_the_bar():
    assert "#m-held" in drawn('{% standing_plain_mark "withdrawn" %}')


@pytest.mark.parametrize("tag", ["standing_mark", "step_mark", "outcome_mark", "verdict_mark", "mark"])
def test_an_unknown_name_stops_the_page(tag):
    with pytest.raises(KeyError):
        drawn(f'{{% {tag} "finished" %}}')


# Days


@pytest.mark.parametrize(
    ("tag", "says"),
    [
        ("day", "14 May 2026"),
        ("short_day", "14 May 2026"),
        ("day_of_month", "14 May"),
        ("long_day", "Thursday 14 May 2026"),
    ],
)
def test_a_day_is_written_as_people_say_it(tag, says):
    assert drawn(f"{{% {tag} on %}}", on=MAY_14) == says


def test_a_short_day_cuts_the_month():
    assert look.short_day(date(2026, 11, 17)) == "17 Nov 2026"


def test_no_day_is_nothing():
    assert look.day(None) == ""


def test_an_instant_is_not_a_day():
    with pytest.raises(TypeError, match="depends on a zone"):
        look.day(datetime(2026, 5, 14, 23, 30))


def line(path="/", the_date=MAY_14, **names):
    template = engines["django"].from_string("{% load register %}{% dateline the_date %}")
    return template.render({"the_date": the_date, **names}, asked(path))


def test_the_date_line_leads_to_both_neighbours():
    assert re.findall(r'href="\?on=([\d-]+)" rel="(\w+)"', line()) == [("2026-05-13", "prev"), ("2026-05-15", "next")]


def test_the_date_line_keeps_what_else_was_asked_but_a_page():
    read = line("/?needs=recheck&q=a%26b&on=2026-01-01&page=3")

    assert 'href="?needs=recheck&amp;q=a%26b&amp;on=2026-05-13"' in read
    assert '<input type="hidden" name="q" value="a&amp;b">' in read
    assert "page" not in re.findall(r'name="(\w+)"', read)


@pytest.mark.parametrize(("edge", "missing"), [(date.min, "prev"), (date.max, "next")])
def test_the_calendar_ends_quietly(edge, missing):
    assert f'rel="{missing}"' not in line(the_date=edge)


def test_today_is_offered_from_another_day():
    assert "Today" in line(today=date(2026, 5, 15))
    assert "Today" not in line(today=MAY_14)


# Templates


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: str(path.relative_to(ROOT / "templates")))
class TestTemplate:
    def test_it_compiles(self, path):
        get_template(str(path.relative_to(ROOT / "templates")))

    def test_it_has_no_style_attribute(self, path):
        assert not re.search(r"\sstyle\s*=|<style", path.read_text())

    def test_it_has_no_inline_script(self, path):
        text = path.read_text()
        assert [tag for tag in re.findall(r"<script[^>]*>", text) if " src=" not in tag] == []
        assert not re.search(r"\son[a-z]+\s*=\s*[\"']|javascript:", text)

    def test_it_names_no_distant_address(self, path):
        assert not re.search(r"https?:|[\"']//", path.read_text())

    def test_what_it_fetches_exists(self, path):
        wanted = re.findall(r'{% static "([^"]+)"', path.read_text())
        assert [name for name in wanted if finders.find(name) is None] == []

    def test_it_marks_nothing_as_safe(self, path):
        assert not re.search(r"\|\s*safe\b|autoescape off", path.read_text())


def test_every_face_exists():
    fetched = re.findall(r'url\("\.\./([^"]+)"\)', (STYLES / "type.css").read_text())

    assert len(fetched) == 7
    assert [name for name in fetched if finders.find(name.replace("%5B", "[").replace("%5D", "]")) is None] == []


@pytest.mark.parametrize("name", ["400.html", "403.html", "404.html", "500.html"])
def test_an_error_page_needs_nothing(name):
    assert "<h1>" in render_to_string(name)


def test_a_refusal_says_why_when_it_knows():
    assert "Only &lt;a&gt; supervisor" in render_to_string("403.html", {"exception": "Only <a> supervisor"})


PERSON = {
    "organisation_title": "Tallow & Mere",
    "person_name": "Adaeze Fontaine, RN",
    "role_title": "educator",
    "places": [("My families", "/families/", True), ("People", "/people/", False)],
    "the_date": MAY_14,
}


def test_the_base_names_who_where_and_when():
    read = render_to_string("base.html", PERSON, asked())

    assert "Tallow &amp; Mere" in read
    assert '<a href="/families/" aria-current="page">My families</a>' in read
    assert '<time datetime="2026-05-14">Thursday 14 May 2026</time>' in read
    assert "As known now." in read


@pytest.mark.parametrize("name", ["base.html", "base_plain.html", "base_caregiver.html", "base_bedside.html"])
def test_every_page_says_that_lists_are_samples(name):
    read = render_to_string(name, PERSON, asked())

    assert re.search(r"sample.+prescriber.+organisation’s policy.+local law", read, re.DOTALL)


@pytest.mark.parametrize(("language", "direction", "sheet"), [("en", "ltr", "min"), ("ar", "rtl", "rtl.min")])
def test_the_direction_follows_the_language(language, direction, sheet):
    with translation.override(language):
        read = render_to_string("base.html", PERSON, asked())

    assert f'<html lang="{language}" dir="{direction}">' in read
    assert f"bootstrap.{sheet}.css" in read.replace("bootstrap/css/", "")


# Forms


class Entry(forms.Form):
    reason = forms.CharField(help_text="As <b>said</b>.")
    setting = forms.ChoiceField(choices=[("m", "Model"), ("p", "Patient")], widget=forms.RadioSelect)
    agreed = forms.BooleanField()
    skill = forms.ChoiceField(choices=[("s", "Suction")])


CRISPY = "{% load crispy_forms_tags %}{{ form|crispy }}"
BY_HAND = """{% include "components/form_errors.html" %}
{% for field in form %}{% include "components/field.html" %}{% endfor %}"""


@pytest.mark.parametrize("text", [CRISPY, BY_HAND], ids=["crispy", "by hand"])
class TestForm:
    def test_a_sound_form_has_no_summary(self, text):
        assert 'role="alert"' not in drawn(text, form=Entry())

    def test_the_summary_links_to_each_field(self, text):
        read = drawn(text, form=Entry({}))
        links = re.findall(r'<a href="#(\w+)">', read)

        assert "4 things to put right" in read
        assert links == ["id_reason", "div_id_setting", "id_agreed", "id_skill"]
        assert [link for link in links if f'id="{link}"' not in read] == []

    def test_a_field_names_its_error_and_its_help(self, text):
        read = drawn(text, form=Entry({}))
        described = re.search(r'aria-describedby="(id_reason[^"]+)"', read).group(1).split()

        assert described == ["id_reason_helptext", "id_reason_error"]
        assert [name for name in described if f'id="{name}"' not in read] == []

    def test_help_is_escaped(self, text):
        assert "As &lt;b&gt;said&lt;/b&gt;." in drawn(text, form=Entry())

    def test_each_of_several_has_a_line_and_a_label_of_its_own(self, text):
        read = drawn(text, form=Entry({"setting": "p"}))
        circles = re.findall(r'<input type="radio"[^>]+id="(id_setting_\d)"', read)

        assert circles == ["id_setting_0", "id_setting_1"]
        assert [c for c in circles if not re.search(rf'<label[^>]+for="{c}"', read)] == []
        assert len(re.findall(r'type="radio"[^>]+class="[^"]*form-check-input', read)) == 2
        assert not re.search(r"<div[^>]+form-check-input", read)

    def test_a_wrong_field_is_dressed_as_one(self, text):
        assert re.search(r'<input type="text"[^>]+class="[^"]*form-control is-invalid', drawn(text, form=Entry({})))


def test_sign_in_keeps_where_to_go_next():
    class SignIn(forms.Form):
        username = forms.CharField()
        password = forms.CharField(widget=forms.PasswordInput)

    read = render_to_string("registration/sign_in.html", {"form": SignIn(), "next": "/a?b=1&c"}, asked())

    assert '<input type="hidden" name="next" value="/a?b=1&amp;c">' in read
    assert "User name or e-mail" in read


# A page open too long

SENT = {
    "csrfmiddlewaretoken": "stale",
    "why": '"><script>alert(1)</script>',
    "seen": ["a", "b"],
    "password": "hunter2",
    "new_password1": "hunter3",
}


def too_long(path="/families/7/?on=2026-05-14", sent=SENT, **headers):
    answer = errors.page_open_too_long(asked(path, sent, headers=headers), reason="CSRF token missing.")
    return answer, answer.content.decode()


def test_words_are_kept_and_escaped():
    answer, read = too_long()

    assert answer.status_code == 403
    assert "This page was open too long. Your words are kept; send them once more." in read
    assert 'name="why" value="&quot;&gt;&lt;script&gt;alert(1)&lt;/script&gt;"' in read
    assert re.findall(r'name="seen" value="(\w)"', read) == ["a", "b"]
    assert 'action="/families/7/?on=2026-05-14"' in read


def test_passwords_and_the_stale_token_are_dropped():
    _, read = too_long()

    assert "hunter" not in read
    assert "stale" not in read
    assert re.findall(r'name="(\w+)"', read).count("csrfmiddlewaretoken") == 1
    assert "Passwords are not kept." in read


@pytest.mark.parametrize(
    ("headers", "offered"),
    [
        ({}, True),
        ({"origin": "http://testserver"}, True),
        ({"origin": "http://elsewhere.example"}, False),
        ({"origin": "null"}, False),
        ({"sec-fetch-site": "same-origin", "origin": "null"}, True),
        ({"sec-fetch-site": "same-site"}, False),
        ({"sec-fetch-site": "cross-site"}, False),
    ],
)
def test_what_another_site_sent_is_not_offered_again(headers, offered):
    _, read = too_long(**headers)

    assert ('name="why"' in read) is offered
    assert ("Another site sent this" in read) is not offered


def test_a_form_kept_open_goes_through_at_the_second_try(client):
    client.handler.enforce_csrf_checks = True
    with override_settings(ROOT_URLCONF=__name__, MIDDLEWARE=["django.middleware.csrf.CsrfViewMiddleware"]):
        first = client.post("/words/", {"why": "She was asleep"})
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', first.content.decode()).group(1)
        second = client.post("/words/", {"why": "She was asleep", "csrfmiddlewaretoken": token})

    assert (first.status_code, second.content) == (403, b"She was asleep")


def words(request):
    return HttpResponse(request.POST["why"])


def _urls():
    from django.urls import path

    return [path("words/", words), path("out/", words, name="sign-out"), path("", words, name="home")]


urlpatterns = _urls()


@override_settings(ROOT_URLCONF=__name__)
def test_sign_out_is_a_button_that_posts():
    read = render_to_string("base.html", PERSON, asked())

    assert re.search(r'<form method="post" action="/out/">.*?<button type="submit">Sign out</button>', read, re.DOTALL)


# What every answer has


@pytest.mark.parametrize(("signed_in", "kept"), [(True, "private, no-store"), (False, None)])
def test_a_signed_in_answer_is_not_kept(signed_in, kept):
    request = asked()
    request.user = SimpleNamespace(is_authenticated=signed_in)
    answer = middleware.SignedInAnswersAreNotKept(lambda request: HttpResponse())(request)

    assert answer.get("Cache-Control") == kept


def test_the_answer_to_signing_out_is_not_kept():
    def sign_out(request):
        request.user = AnonymousUser()
        return HttpResponse(headers={"Cache-Control": "public"})

    request = asked()
    request.user = SimpleNamespace(is_authenticated=True)

    assert middleware.SignedInAnswersAreNotKept(sign_out)(request)["Cache-Control"] == "private, no-store"


NOBODY = {"organisation_title": "", "person_name": "", "role_title": "", "places": (), "the_date": None, "idle": None}


def test_a_visitor_has_an_empty_page():
    assert context.the_page(asked()) == NOBODY


def test_a_request_cut_short_has_an_empty_page():
    assert context.the_page(RequestFactory().get("/")) == NOBODY


@pytest.mark.parametrize(("full_name", "shown"), [("Adaeze Fontaine", "Adaeze Fontaine"), ("", "ada")])
def test_a_member_is_named(full_name, shown):
    request = asked()
    request.user = SimpleNamespace(is_authenticated=True, get_full_name=lambda: full_name, get_username=lambda: "ada")
    request.membership = SimpleNamespace(
        organisation=SimpleNamespace(title="Tallowmere"), get_role_display=lambda: "educator"
    )
    request.the_date = MAY_14
    page = context.the_page(request)

    assert (page["organisation_title"], page["person_name"], page["role_title"], page["the_date"]) == (
        "Tallowmere", shown, "educator", MAY_14,
    )  # fmt: skip
