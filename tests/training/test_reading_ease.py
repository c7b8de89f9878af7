"""What a caregiver reads asks for six years of school at most, skill by skill (issue E; target in facts.md 7.04)."""

from pathlib import Path

import pytest

from training.curriculum.programme_file import read_file
from training.curriculum.reading_ease import grade, grade_of, syllables

FILES = sorted((Path(__file__).parents[2] / "fixtures/programmes").glob("*.yaml"))
SIXTH = 6.0

# Skills whose wording asks for more, each with its reason.
TITLE_ALONE = "A card has no steps, so its two words are all there is; the first is what is printed on it."
MORE_THAN_SIX = {("home-tracheostomy", "cpr_card"): TITLE_ALONE, ("agency-home-care", "cpr_card"): TITLE_ALONE}


def about(path):
    return read_file(path.read_text(encoding="utf-8"))


def wordings():
    for path in FILES:
        file = about(path)
        plain = {s["code"]: s["plain"] for s in file.about["skills"]}
        for skill, edition in file.editions:
            yield path.stem, skill, [plain[skill], *(s["plain"] for s in edition.get("steps", ()))]


WORDINGS = list(wordings())


@pytest.mark.parametrize(
    ("words", "sentences", "count", "expected"),
    [(13, 1, 24, 11.26), (100, 10, 130, 3.65), (120, 8, 180, 7.96), (150, 10, 240, 9.14)],
)
def test_the_formula(words, sentences, count, expected):
    """Kincaid and others 1975, as Table 1 of PMC5849699 (2018) gives it.

    The first row is the worked example of Wikipedia's article on the tests: thirteen words on a platypus, 24 syllables,
    printed there as 11.3. The others are worked by hand.
    """
    assert round(grade(words, sentences, count), 2) == expected


@pytest.mark.parametrize(
    ("word", "count"),
    [
        ("tube", 1), ("hands", 1), ("passed", 1), ("needed", 2), ("open", 2), ("water", 2), ("oxygen", 3), ("battery", 3),
        ("catheter", 3), ("emergency", 4), ("obturator", 4), ("the", 1), ("little", 2), ("passes", 2), ("tied", 1), ("humidifier", 5),
    ],
)  # fmt: skip
def test_syllables_as_they_are_spoken(word, count):
    assert syllables(word) == count


def test_texts_are_cut_into_sentences():
    """Counted by hand: six words of one syllable each, in one sentence and in three."""
    assert grade_of(["The cat sat on the mat."]) == pytest.approx(grade(6, 1, 6))
    assert grade_of(["Wash your hands. Dry them", "Call"]) == pytest.approx(grade(6, 3, 6))


@pytest.mark.parametrize(("programme", "skill", "texts"), WORDINGS, ids=[f"{p}-{s}" for p, s, _ in WORDINGS])
def test_a_caregivers_wording_is_for_sixth_grade(programme, skill, texts):
    """An exception that is none any more is taken off the list."""
    assert (grade_of(texts) > SIXTH) == ((programme, skill) in MORE_THAN_SIX)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_step_has_a_wording_of_its_own(path):
    missing = [
        (skill, s["code"]) for skill, e in about(path).editions for s in e.get("steps", ()) if not s.get("plain")
    ]

    assert missing == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_no_single_step_is_far_above(path):
    """One hard step hides behind twelve easy ones."""
    hard = [
        (skill, step["code"], round(grade_of([step["plain"]]), 1), step["plain"])
        for skill, edition in about(path).editions
        for step in edition.get("steps", ())
        if grade_of([step["plain"]]) > 9
    ]

    assert hard == []


def test_the_measure_tells_hard_from_easy():
    hard = (
        "Immediately following decannulation, oxygenation necessitates continuous observation by experienced personnel."
    )

    assert grade_of([hard]) > 15 > SIXTH > grade_of(["Call for help. Stay with the person."])
