"""Calendar addresses as they are asked for and shown."""

from typing import Annotated

from pydantic import Field

from service.schemas.fields import Sent, Shown, Text


class CalendarSent(Sent):
    """A calendar address to make."""

    title: Annotated[Text, Field(max_length=120)] = Field(default="Calendar", description="Where it will be read.")


class CalendarMade(Shown):
    """A new calendar address; it is shown this once."""

    address: str = Field(description="Subscribe to this; whoever has it can read what is due. End it under /devices.")
