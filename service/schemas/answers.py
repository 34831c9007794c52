"""Answers written straight from the domain's values: the JSON of a shown model, without making the model first.

A checklist of three hundred steps is some two thousand models, which are made and checked only to be written out. What
is written here follows the shown model field by field: its names, its order, its aliases.
"""

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any, get_args, get_origin, get_type_hints

from pydantic import TypeAdapter
from pydantic_core import CoreSchema, SchemaSerializer, core_schema

from service.schemas.fields import Shown

Shapes = Mapping[type, Callable[[Any], Shown]]


def writer_of(shown: type[Shown], value: type, shapes: Shapes | None = None) -> Callable[[Any], bytes]:
    """What writes a frozen dataclass as this model shows it; `shapes` turn the few values that are shaped otherwise.

    Built when it is first called, which raises TypeError where the value lacks a field of the model, or has it in
    another shape.
    """

    @cache
    def serializer() -> SchemaSerializer:
        return SchemaSerializer(_of_value(shown, value, shapes or {}))

    return lambda given: serializer().to_json(given, by_alias=True)


def _of_value(shown: type[Shown], value: type, shapes: Shapes) -> CoreSchema:
    if value in shapes:
        shown.model_rebuild()
        turned = core_schema.plain_serializer_function_ser_schema(
            shapes[value], return_schema=shown.__pydantic_core_schema__
        )
        return core_schema.any_schema(serialization=turned)
    fields = [
        core_schema.dataclass_field(
            name,
            _of_field(field.annotation, _kind_of(value, name), shapes),
            serialization_alias=field.serialization_alias,
        )
        for name, field in shown.model_fields.items()
    ]
    return core_schema.dataclass_schema(
        value, core_schema.dataclass_args_schema(value.__name__, fields), list(shown.model_fields), slots=True
    )


def _kind_of(value: type, name: str) -> Any:
    """What a value says its field or property is."""
    hints = get_type_hints(value)
    if name in hints:
        return hints[name]
    own = getattr(value, name, None)
    if not isinstance(own, property):
        raise TypeError(f"{value.__name__} has no {name} to be shown")
    return get_type_hints(own.fget)["return"]


def _of_field(shown: Any, kind: Any, shapes: Shapes) -> CoreSchema:
    models = list(_models_in(shown))
    if not models:
        return TypeAdapter(kind).core_schema
    if get_origin(kind) is tuple and get_args(kind)[1:] == (...,):
        return core_schema.tuple_variable_schema(_of_value(models[0], get_args(kind)[0], shapes))
    if isinstance(kind, type) and shown is models[0]:
        return _of_value(shown, kind, shapes)
    if shown == models[0] | None:
        (value,) = (each for each in get_args(kind) if each is not type(None))
        return core_schema.nullable_schema(_of_value(models[0], get_origin(value) or value, shapes))
    raise TypeError(f"{kind} cannot be shown as {shown}: only one value, one or none, or a tuple of them, can")


def _models_in(annotation: Any) -> Iterator[type[Shown]]:
    if isinstance(annotation, type) and issubclass(annotation, Shown):
        yield annotation
    for part in get_args(annotation):
        yield from _models_in(part)
