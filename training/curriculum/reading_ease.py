"""How many years of school a text asks for: the Flesch-Kincaid grade (Kincaid and others 1975).

0.39 x words / sentences + 11.8 x syllables / words - 15.59. Syllables are pyphen's hyphenation points; as a printer
breaks no word after one letter ("o-pen"), groups of vowels are counted beside them and the larger number is taken.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

import pyphen

_BREAKS = pyphen.Pyphen(lang="en_US")
_SILENT = re.compile(r"(?<=[^aeiouyl])e$|(?<=[aeiouy])le$|(?<=[^td\W])ed$|(?<=[^cgshxz])es$")
_VOWELS = re.compile(r"[aeiouy]+")


def grade(words: int, sentences: int, syllables: int) -> float:
    return 0.39 * words / sentences + 11.8 * syllables / words - 15.59


def syllables(word: str) -> int:
    heard = _VOWELS.findall(_SILENT.sub("", word.lower()))
    return max(len(_BREAKS.positions(word.lower())) + 1, len(heard), 1)


def grade_of(texts: Iterable[str]) -> float:
    """Of English texts that each end a sentence, with or without a full stop."""
    texts = list(texts)
    words = [word for text in texts for word in re.findall(r"[A-Za-z]+(?:['’-][A-Za-z]+)*|\d+", text)]
    sentences = sum(len([s for s in re.split(r"[.!?:]+(?:\s|$)", text) if s.strip()]) for text in texts)
    return grade(len(words), sentences, sum(syllables(word) for word in words))
