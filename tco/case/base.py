"""The base of every case model: frozen, any unit at the edge, and checks across its fields.

A model states each check across fields as a method marked `@cross_check`, which yields one
`Clash` for each thing that does not go together. Checks also run on the readable part of data that
is broken elsewhere, so that everything wrong with a file is reported at once.
"""

import difflib
import functools
import types
import typing
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Literal, Self, TypeVar

from pydantic import (
    BaseModel,
    ConfigDict,
    ModelWrapValidatorHandler,
    TypeAdapter,
    ValidationError,
    field_validator,
    model_validator,
)
from pydantic.fields import FieldInfo
from pydantic_core import InitErrorDetails, PydanticCustomError, PydanticUndefined

from tco.case.shop_forms import read_shop_form, without_word
from tco.case.times import InWords
from tco.case.units import UnitProblem, parse_price, split_key, to_canonical, unit_of_field

_Check = TypeVar("_Check", bound=Callable[..., Iterator["Clash"]])

STATED = "stated"
"""Type of a pydantic error whose context holds `what`, `allowed` and `mend` in our words."""


def stated_error(what: str, *, allowed: str = "", mend: str = "") -> PydanticCustomError:
    """An error that says what is wrong, what is allowed and how to mend it."""
    context = {"what": what, "allowed": allowed, "mend": mend}
    return PydanticCustomError(STATED, "{what}", context)


@dataclass(frozen=True)
class Clash:
    """Fields that do not go together: the field to mend, what is wrong, how to mend it.

    `field` may lie in a section of the model ("inverter.cutoff_voltage_v"). `at` goes on from it:
    the row of a list, counted from nought, and the field of that row.
    """

    field: str
    what: str
    mend: str = ""
    at: tuple[int | str, ...] = ()

    @property
    def location(self) -> tuple[int | str, ...]:
        """Where it stands, from the model that was checked on."""
        return (*self.field.split("."), *self.at) if self.field else self.at


def cross_check(check: _Check) -> _Check:
    """Mark a method that yields the clashes between the fields of its model.

    It reads fields only (no properties or methods of the model), since it also runs on the part of
    broken data that could be read.
    """
    check.__cross_check__ = True  # type: ignore[attr-defined]
    return check


class Quantity:
    """Mark of a number that may be typed with a unit: as a percentage, or with a currency sign."""

    def __init__(self, *, share: bool = False, money: bool = False) -> None:
        self.share, self.money = share, money


class Unreadable:
    """A value that could not be read, carried to its field's own error."""

    def __init__(self, given: Any, problem: UnitProblem) -> None:
        self.given, self.problem = given, problem


def reject_unreadable(value: Any) -> Any:
    """Raise the problem an unreadable value carries; other values come back as they are."""
    if isinstance(value, Unreadable):
        problem = value.problem
        raise stated_error(problem.what, allowed=problem.allowed, mend=problem.mend)
    return value


class Model(BaseModel):
    """Frozen, no unknown fields, and quantities in any unit of `tco.case.units`."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)
    _readers: ClassVar[Mapping[str, Callable[[Any, str], Any]]] = {}
    _names: ClassVar[frozenset[str]] = frozenset()
    _reads_shop_forms: ClassVar[bool] = False
    _checks: ClassVar[tuple[Callable[[Any], Iterator[Clash]], ...]] = ()

    @classmethod
    def __pydantic_init_subclass__(cls, **kwargs: Any) -> None:
        """Collect what the fields accept and the checks across them."""
        super().__pydantic_init_subclass__(**kwargs)
        cls._names = frozenset(cls.model_fields)
        readers = {name: _reader(name, info) for name, info in cls.model_fields.items()}
        cls._readers = {name: reader for name, reader in readers.items() if reader is not None}
        members: dict[str, Any] = {}
        for base in reversed(cls.__mro__):
            members.update(vars(base))
        cls._checks = tuple(
            member for member in members.values() if getattr(member, "__cross_check__", False)
        )

    @model_validator(mode="before")
    @classmethod
    def _accept_units(cls, data: Any) -> Any:
        return accept_units(cls, data) if isinstance(data, Mapping) else data

    @field_validator("*", mode="before")
    @classmethod
    def _readable(cls, value: Any) -> Any:
        return reject_unreadable(value)

    @model_validator(mode="wrap")
    @classmethod
    def _report_clashes_too(cls, data: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        lines: list[InitErrorDetails] = []
        made = None
        try:
            made = handler(data)
        except ValidationError as error:
            lines = [_line(detail) for detail in error.errors(include_url=False)]
        if made is not None and made is data:
            return made  # an instance, checked when it was made
        known = made if made is not None else known_part(cls, data)
        for clash in clashes(cls, known):
            error_type = stated_error(clash.what, mend=clash.mend)
            lines.append(InitErrorDetails(type=error_type, loc=clash.location, input=data))
        if lines or made is None:
            raise ValidationError.from_exception_data(cls.__name__, lines)
        return made


def accept_units(model: type[Model], data: Mapping[Any, Any]) -> dict[Any, Any]:
    """Data with every key turned into its field and every quantity into the field's unit.

    A form that shops use (`tco.case.shop_forms`) fills fields beside its own that are not given.
    """
    out: dict[Any, Any] = {}
    beside: dict[str, float] = {}
    typed_as: dict[str, str] = {}
    for key, value in data.items():
        found = (
            (key, "")
            if key in model._names
            else split_key(key, model._names)
            if isinstance(key, str)
            else None
        )
        if found is None:
            out[key] = value
            continue
        field, unit = found
        if field in out:
            twice = UnitProblem(
                f"is given twice, as {typed_as[field]} and as {key}", mend="Remove one of the two."
            )
            out[field] = Unreadable(value, twice)
            continue
        typed_as[field] = key
        reader = model._readers.get(field)
        out[field] = value if reader is None else _read(value, unit, reader)
        if model._reads_shop_forms and isinstance(out[field], Unreadable):
            form = read_shop_form(field, value, typed_unit=unit) if isinstance(value, str) else None
            if form is not None:
                out[field] = form.values[field]
                beside.update((f, v) for f, v in form.values.items() if f != field)
    for field, number in beside.items():
        if out.get(field) is None:
            out[field] = number
    return out


def _read(value: Any, typed: str, reader: Callable[[Any, str], Any]) -> Any:
    """Read a scalar or every item of a list; what cannot be read stays, to be reported."""
    if isinstance(value, list | tuple):
        return tuple(_read(v, typed, reader) for v in value)
    if not isinstance(value, int | float | str):
        return value
    try:
        return reader(value, typed)
    except UnitProblem as problem:
        return Unreadable(value, problem)


def field_kind(name: str, info: FieldInfo) -> tuple[str, str] | None:
    """Kind ("number", "whole" or "price") and canonical unit of a quantity field, else None."""
    found = _kind_in(info.annotation, tuple(info.metadata))
    if found is None:
        return None
    kind, share = found
    if kind == "price":
        return "price", "#"
    return kind, unit_of_field(name) or ("" if share else "#")


def _kind_in(annotation: Any, metadata: tuple[Any, ...]) -> tuple[str, bool] | None:
    for mark in metadata:
        if isinstance(mark, InWords):
            return None
        if isinstance(mark, Quantity):
            return "price" if mark.money else "number", mark.share
    origin, parts = typing.get_origin(annotation), typing.get_args(annotation)
    if annotation is float:
        return "number", False
    if annotation is int or (origin is Literal and all(type(p) is int for p in parts)):
        return "whole", False
    if origin is Annotated:
        return _kind_in(parts[0], parts[1:])
    if origin in (tuple, typing.Union, types.UnionType):
        return next((kind for part in parts if (kind := _kind_in(part, ()))), None)
    return None


def _reader(name: str, info: FieldInfo) -> Callable[[Any, str], Any] | None:
    kind_and_unit = field_kind(name, info)
    if kind_and_unit is None:
        return None
    kind, unit = kind_and_unit

    def read(value: float | int | str, typed: str) -> float | int:
        try:
            return read_plain(value, typed)
        except UnitProblem:
            if not isinstance(value, str) or without_word(value) == value:
                raise
            return read_plain(without_word(value), typed)

    def read_plain(value: float | int | str, typed: str) -> float | int:
        if kind == "price" and isinstance(value, str):
            return parse_price(value)
        if not isinstance(value, str) and not isinstance(value, bool) and not typed:
            return value
        number = to_canonical(value, unit, typed_unit=typed)
        return int(number) if kind == "whole" and number == int(number) else number

    return read


class NotKnownError(Exception):
    """A check asks for a field that could not be read; the check is left out."""


def rows_known(rows: Iterable[Any], *fields: str) -> Iterator[tuple[int, tuple[Any, ...]]]:
    """Place and values of some fields of every row of a list in which all of them can be read.

    A row that lacks one has an error of its own.
    """
    for place, row in enumerate(rows):
        try:
            yield place, tuple(getattr(row, field) for field in fields)
        except NotKnownError:
            continue


def repeated(rows: Iterable[Any], *fields: str) -> Iterator[tuple[int, int, tuple[Any, ...]]]:
    """Rows with the same values as an earlier one: place, place of the first, and the values."""
    first: dict[tuple[Any, ...], int] = {}
    for place, values in rows_known(rows, *fields):
        if values in first:
            yield place, first[values], values
        else:
            first[values] = place


class _Known:
    """The readable part of broken data, read like the model itself."""

    def __init__(self, values: Mapping[str, Any]) -> None:
        self._values = values

    def __getattr__(self, name: str) -> Any:
        try:
            return self._values[name]
        except KeyError:
            raise NotKnownError(name) from None


def clashes(model: type[Model], known: Any) -> list[Clash]:
    """What the checks of a model find in an instance of it, or in its known part."""
    found: list[Clash] = []
    for check in model._checks:
        try:
            found.extend(check(known))
        except NotKnownError:
            continue  # the field has an error of its own
    return found


def known_part(model: type[Model], data: Any) -> Any:
    """What can be read of data in which `model.model_validate` found errors.

    Returns an object with the model's field names as attributes; asking it for one that could not
    be read raises `NotKnownError`. Of a list every entry is kept at its place, and of an entry what
    can be read.
    """
    if isinstance(data, model):
        return data
    if not isinstance(data, Mapping):
        return _Known({})
    stated = accept_units(model, data)
    strangers = [key for key in stated if isinstance(key, str) and key not in model._names]
    misspelt = {
        close
        for key in strangers
        for close in difflib.get_close_matches(key, model._names, n=1, cutoff=0.6)
    }
    values: dict[str, Any] = {}
    for name, info in model.model_fields.items():
        if name in stated:
            value = _known_value(model, name, info, stated[name])
        elif info.is_required() or name in misspelt:
            continue
        else:
            value = info.get_default(call_default_factory=True, validated_data={})
        if value is not PydanticUndefined:
            values[name] = value
    return _Known(values)


def _known_value(model: type[Model], name: str, info: FieldInfo, value: Any) -> Any:
    inner = model_in(info.annotation)
    if inner is None or not issubclass(inner, Model):
        try:
            return _adapter(model, name).validate_python(reject_unreadable(value))
        except (ValidationError, PydanticCustomError):
            return PydanticUndefined
    is_list = typing.get_origin(info.annotation) is tuple
    if value is None:
        optional = type(None) in typing.get_args(info.annotation)
        return None if optional else PydanticUndefined
    if is_list != isinstance(value, list | tuple):
        return PydanticUndefined
    if is_list:
        return tuple(_valid_or_known(inner, item) for item in value)
    return (
        _valid_or_known(inner, value) if isinstance(value, Mapping | inner) else PydanticUndefined
    )


def _valid_or_known(model: type[Model], data: Any) -> Any:
    try:
        return model.model_validate(data)
    except ValidationError:
        return known_part(model, data)


@functools.cache
def _adapter(model: type[Model], name: str) -> TypeAdapter[Any]:
    info = model.model_fields[name]
    annotation: Any = info.annotation
    if info.metadata:
        annotation = Annotated[(annotation, *info.metadata)]
    return TypeAdapter(annotation, config=ConfigDict(allow_inf_nan=False))


def model_in(annotation: Any) -> type[BaseModel] | None:
    """Model class inside a field's annotation (itself, or in a tuple or a union), else None."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if typing.get_origin(annotation) in (tuple, list, typing.Union, types.UnionType):
        for part in typing.get_args(annotation):
            found = model_in(part)
            if found is not None:
                return found
    return None


def _line(detail: Any) -> InitErrorDetails:
    """An error pydantic reported, as an error to report again with others."""
    context = detail.get("ctx", {})
    kind: Any = detail["type"]
    if kind == STATED:
        kind = PydanticCustomError(STATED, "{what}", context)
    return InitErrorDetails(type=kind, loc=detail["loc"], input=detail["input"], ctx=context)
