"""How a record becomes bytes and a digest."""

import hashlib
import json
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from competency.chain import NOTHING_BEFORE, NotCanonicalError, canonical, digest_of

RECORD = {
    "organisation": "o", "chain": "c", "number": 1, "kind": "k", "intent": "i",
    "recorded_at": "2026-05-14T08:00:00.000000Z", "body": b"{}", "previous": NOTHING_BEFORE,
}  # fmt: skip


@pytest.mark.parametrize(
    ("value", "written"),
    [
        ({"b": 1, "a": [True, None, "é"]}, '{"a":[true,null,"é"],"b":1}'),
        (Decimal("5.0"), "5"),
        (Decimal("1E+2"), "100"),
        (Decimal("0.00001"), "0.00001"),
        (Decimal("-0.0"), "0"),
        (Decimal("7.50"), "7.5"),
        (2**53 + 1, "9007199254740993"),
        ("a\nb\u2028", '"a\\nb\u2028"'),
    ],
)
def test_there_is_one_way_to_write_a_value(value, written):
    assert canonical(value).decode() == written


@pytest.mark.parametrize(
    ("value", "message"),
    [
        (1.0, "float has no canonical form"),
        (Decimal("NaN"), "infinity and no-number have no canonical form"),
        (Decimal("-Infinity"), "infinity and no-number have no canonical form"),
        ({1: 2}, "a key is no text"),
        ({"a": [1, b"x"]}, "bytes has no canonical form"),
        ({"a": {1}}, "set has no canonical form"),
        (object(), "object has no canonical form"),
    ],
)
def test_what_has_no_one_way_is_refused(value, message):
    with pytest.raises(NotCanonicalError) as refusal:
        canonical(value)

    assert str(refusal.value) == message


plain = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)


@given(plain)
def test_what_is_written_can_be_read_back(value):
    assert json.loads(canonical(value)) == value


@given(st.dictionaries(st.text(), st.integers()))
def test_the_order_of_keys_never_matters(value):
    assert canonical(value) == canonical(dict(reversed(value.items())))


@pytest.mark.parametrize("part", RECORD)
def test_every_part_of_a_record_is_in_its_digest(part):
    other = {**RECORD, part: b"{ }" if part == "body" else (2 if part == "number" else "x")}

    assert digest_of(**RECORD) != digest_of(**other)


def test_no_part_borrows_from_its_neighbour():
    assert digest_of(**{**RECORD, "chain": "ab", "organisation": "c"}) != digest_of(
        **{**RECORD, "chain": "b", "organisation": "ca"}
    )


def test_the_digest_is_sha_256_over_lengths_and_parts():
    """Worked by hand from the definition, so that a checker written elsewhere can be."""
    whole = b"register-record-1"
    for part in ("o", "c", "1", "k", "i", "2026-05-14T08:00:00.000000Z", NOTHING_BEFORE, "{}"):
        whole += len(part).to_bytes(8, "big") + part.encode()

    assert digest_of(**RECORD) == hashlib.sha256(whole).hexdigest()
