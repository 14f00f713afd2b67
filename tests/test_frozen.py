"""Frozen dataclasses behave as those of the standard library, which each is held against."""

import copy
import dataclasses
import inspect
import pickle
from dataclasses import field
from typing import Any, ClassVar

import pytest

from argentry import frozen


def _classes(dataclass: Any) -> tuple[type, ...]:
    """Return the same classes by one decorator or the other."""

    @dataclass(frozen=True)
    class Plain:
        """A name, a number that has a default, and what is made afresh each time."""

        name: str
        number: float = 2.5
        made: list[int] = field(default_factory=list)
        aside: int = field(default=7, compare=False, repr=False)
        inner: int = field(default=3, init=False)
        of_all: ClassVar[int] = 4

    @dataclass(frozen=True)
    class Longer(Plain):
        more: tuple[int, ...] = ()

        def __post_init__(self) -> None:
            if not self.name:
                raise ValueError("no name")

    @dataclass(frozen=True, kw_only=True)
    class ByName:
        first: int
        second: str = "b"

    @dataclass(frozen=True)
    class Alone:
        value: int

    @dataclass(frozen=True)
    class Nothing:
        pass

    return Plain, Longer, ByName, Alone, Nothing


OURS, THEIRS = _classes(frozen.dataclass), _classes(dataclasses.dataclass)
MADE: list[tuple[tuple[Any, ...], dict[str, Any]]] = [
    (("a",), {}),
    (("a", 1.0, [3]), {"aside": 9}),
    (("a",), {"number": 4.0}),
    ((), {"first": 1}),
    ((), {"first": 1, "second": "c"}),
    ((5,), {}),
    ((), {}),
]


@dataclasses.dataclass(frozen=True)
class _Theirs:
    value: int


@frozen.dataclass(frozen=True)
class _Kept:
    value: int
    others: tuple[str, ...] = ("x",)


def _tried(cls: type, given: tuple[Any, ...], named: dict[str, Any]) -> Any:
    try:
        return cls(*given, **named)
    except TypeError:
        return None


def test_they_are_made_shown_and_compared_as_the_standard_ones() -> None:
    for ours, theirs in zip(OURS, THEIRS, strict=True):
        assert str(inspect.signature(ours)) == str(inspect.signature(theirs))
        assert ours.__match_args__ == theirs.__match_args__  # type: ignore[attr-defined]
        one = [_tried(ours, *how) for how in MADE]
        other = [_tried(theirs, *how) for how in MADE]
        assert any(two is not None for two in other)
        assert [repr(two) for two in one] == [repr(two) for two in other]
        assert [vars(two) if two else None for two in one] == [
            vars(two) if two else None for two in other
        ]
        assert [[a == b for a in one] for b in one] == [[a == b for a in other] for b in other]
        for mine, standard in zip(one, other, strict=True):
            if standard is not None:
                assert mine != standard
                assert dataclasses.asdict(mine) == dataclasses.asdict(standard)


def test_a_hash_is_that_of_the_values() -> None:
    one, standard = _Kept(1, ("a",)), _Theirs(1)
    assert hash(one) == hash((1, ("a",))) == hash(_Kept(1, ("a",)))
    assert hash(OURS[3](5)) == hash(THEIRS[3](5))
    assert {one: "kept"}[_Kept(1, ("a",))] == "kept"
    with pytest.raises(TypeError):
        hash(OURS[0]("a"))  # its list has none
    assert hash(standard) == hash((1,))


def test_nothing_is_changed_and_what_follows_is_said_as_by_the_standard_ones() -> None:
    for cls in (OURS[1], THEIRS[1]):
        one = cls("a")
        for change in (lambda one: setattr(one, "name", "b"), lambda one: delattr(one, "name")):
            with pytest.raises(dataclasses.FrozenInstanceError) as refused:
                change(one)
            assert str(refused.value).endswith("field 'name'")
        with pytest.raises(dataclasses.FrozenInstanceError):
            one.unknown = 1
        with pytest.raises(ValueError, match="no name"):
            cls("")
        assert dataclasses.replace(one, number=1.0).number == 1.0
        assert one.made is not cls("a").made

        class Further(cls):  # type: ignore[misc, valid-type]
            """A plain class beneath a frozen one may have more of its own."""

        more = Further("a")
        more.own = 1
        del more.own
        with pytest.raises(dataclasses.FrozenInstanceError):
            more.name = "b"


def test_they_are_copied_and_pickled() -> None:
    one = _Kept(3)
    assert copy.deepcopy(one) == pickle.loads(pickle.dumps(one)) == one


def test_what_makes_one_is_made_once_and_only_when_asked_for() -> None:
    @frozen.dataclass(frozen=True)
    class Late:
        value: int

    assert not inspect.isfunction(vars(Late)["__init__"])
    assert Late(2).value == 2
    assert inspect.isfunction(vars(Late)["__init__"])


def test_other_kinds_are_the_standard_library_s() -> None:
    @frozen.dataclass
    class Loose:
        value: int

    @frozen.dataclass(frozen=True, eq=False)
    class ByItself:
        value: int

    loose = Loose(1)
    loose.value = 2
    assert loose == Loose(2)
    assert ByItself(1) != ByItself(1)
