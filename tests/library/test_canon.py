"""One spelling for every value."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotator.course import Said
from annotator.library import canonical, slug, stage_key
from annotator.library.canon import free_name

values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
)


@given(values)
def test_canonical_json_reads_back_as_the_same_value(value: object) -> None:
    assert json.loads(canonical(value)) == value


@given(st.dictionaries(st.text(), st.integers(), min_size=2, max_size=6))
def test_the_order_of_keys_does_not_matter(value: dict[str, int]) -> None:
    assert canonical(value) == canonical(dict(reversed(value.items())))


@given(st.lists(st.text(max_size=4), max_size=4), st.lists(st.text(max_size=4), max_size=4))
def test_stage_keys_are_equal_exactly_where_the_parts_are(one: list[str], other: list[str]) -> None:
    assert (stage_key("words", "1", *one) == stage_key("words", "1", *other)) == (one == other)


def test_a_stage_key_is_told_apart_by_stage_version_and_models() -> None:
    said = Said(start=1, end=2, text="hands only")
    keys = {
        stage_key("words", "1", said),
        stage_key("words", "2", said),
        stage_key("rules", "1", said),
        stage_key("words", "1", said.model_copy(update={"text": "feet only"})),
        stage_key("words", "1", b"hands only"),
    }
    assert len(keys) == 5


@pytest.mark.parametrize(
    "value", [pytest.param({1, 2}, id="set"), pytest.param(Path("a"), id="path"), pytest.param({1: 2}, id="number-as-key")]
)
def test_a_value_without_one_spelling_is_refused(value: object) -> None:
    with pytest.raises(TypeError):
        canonical(value)
    with pytest.raises(ValueError, match="JSON"):
        canonical(float("nan"))


@given(st.text(max_size=80), st.sets(st.sampled_from(["course-1", "course-2", "a", "a-2"])))
def test_a_free_name_is_plain_and_free(title: str, taken: set[str]) -> None:
    name = free_name(title, taken)
    assert name and name not in taken
    assert slug(name) == name
    assert set(name) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    assert not name.startswith("-") and not name.endswith("-") and "--" not in name


def test_a_long_title_that_is_taken_still_gives_a_name_that_fits() -> None:
    name = free_name("a" * 60, {"a" * 48})
    assert name == "a" * 46 + "-2" == slug(name)


@pytest.mark.parametrize(
    ("title", "name"),
    [
        pytest.param("Été à l’Île, № 3", "ete-a-l-ile-no-3", id="accents"),
        pytest.param("Straße Ø", "strasse-o", id="letters-that-do-not-decompose"),
        pytest.param("../../etc", "etc", id="path"),
        pytest.param("a" * 80, "a" * 48, id="long"),
        pytest.param("🏃‍♀️", "", id="emoji-only"),
    ],
)
def test_a_slug_reads_like_its_title(title: str, name: str) -> None:
    assert slug(title) == name
