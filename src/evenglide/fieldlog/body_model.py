"""What the bodies of all kinds share: how they are read, and what their numbers may be."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from evenglide.constants import EXACT_INTEGER_LIMIT

Number = Annotated[float, Field(allow_inf_nan=False)]
LaunchNumber = Annotated[int, Field(ge=1, lt=EXACT_INTEGER_LIMIT)]


class BodyModel(BaseModel):
    """What all bodies share."""

    model_config = ConfigDict(extra="allow", frozen=True, strict=True, ser_json_inf_nan="null")

    def to_dict(self) -> dict[str, Any]:
        """Return plain values, as they are stored: fields that were never given are left out."""
        return {
            name: value
            for name, value in self.model_dump(mode="json").items()
            if name in ("kind", "version") or name in self.model_fields_set
        }
