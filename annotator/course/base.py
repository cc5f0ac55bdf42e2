"""What all models of a course share: frozen, strict about unknown fields, and short words for limbs, roles and rulings."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

Limb = Literal["hands", "feet"]
Role = Literal["start", "route", "finish"]
Ruling = Literal["in", "out"]
Overshoot = Literal["allowed", "not allowed"]
State = Literal["draft", "accepted"]
Demonstration = Literal["clear", "fail"]

LIMBS: tuple[Limb, ...] = ("hands", "feet")


def _in_order(limbs: tuple[Limb, ...]) -> tuple[Limb, ...]:
    if not limbs:
        raise ValueError("name at least one limb, or null where nothing was said")
    return tuple(limb for limb in LIMBS if limb in limbs)


Contact = Annotated[tuple[Limb, ...], AfterValidator(_in_order)]
"""The limbs that may touch, hands before feet, each once; None (not empty) where nothing was said."""

Ident = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,79}$")]
"""An id of ours ("t3", "u17", "s04-2"): it stands in addresses and file names, so it can lead nowhere."""

Seconds = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Share = Annotated[float, Field(ge=0, le=1)]


class Model(BaseModel):
    """A value that never changes; `model_copy(update=...)` makes another one."""

    model_config = ConfigDict(frozen=True, extra="forbid", json_schema_serialization_defaults_required=True)


class Said(Model):
    """The evidence: a span of the walk and its words."""

    start: Seconds
    end: Seconds
    text: str


class Word(Model):
    """One recognised or imported word with its time on the walk's time line."""

    start: Seconds
    end: Seconds
    text: str
    probability: Share | None = None
