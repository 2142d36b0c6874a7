"""The base of all values: frozen, and strict about what it is given."""

from pydantic import BaseModel, ConfigDict


class Frozen(BaseModel):
    """A value that never changes and knows each of its fields."""

    model_config = ConfigDict(frozen=True, extra="forbid")
