"""Checklists as they are started, ticked and shown: steps with all that stands on them."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Annotated, Literal
from uuid import UUID

from pydantic import Field

from service.schemas.fields import (
    FreeNumber,
    Instant,
    Key,
    Name,
    Note,
    Sent,
    Shown,
    Text,
    TorqueNm,
    Whole,
    Word,
    absent,
)

Job = Literal["assemble", "replace", "service", "strip", "check"]
Written = FreeNumber | Annotated[Text, Field(min_length=1, max_length=400)]


class ChecklistStarted(Sent):
    """A job to start on a build."""

    id: UUID | None = absent("UUIDv7 chosen by the client, so that a retry is the same request.")
    job: Job = Field(default="assemble", description="What is to be done.")
    about_part: UUID | None = absent("The part it is about: the one that is replaced, serviced or checked.")
    task: Word | None = absent("The task it does, as category.key.")


class ChecklistChanged(Sent):
    """Finishing a job: its events and readings are logged with it."""

    finished: Literal[True] = Field(description="True finishes the job; a finished job stays finished.")


class TorqueSent(Sent):
    """A torque that was used."""

    fastening: Word = Field(description="The fastening, as category.key.")
    bolt: Annotated[Whole, Field(ge=1, le=60)] = Field(default=1, description="Which of its bolts.")
    nm: TorqueNm = Field(description="N·m.")
    wrench: UUID | None = absent("With which wrench of the workshop.")


class MarkSent(Sent):
    """A tick, or a skip, of one step for exactly the parts that its fingerprint names."""

    state: Literal["done", "skipped"] = Field(default="done", description="Done, or skipped on purpose.")
    fingerprint: Annotated[Text, Field(max_length=2000)] = Field(description="The step's fingerprint as it was shown.")
    at: Instant | None = absent("When it was done, from a phone that was offline; at most 30 days back; left out: now.")
    note: Note = Field(default="", description="A remark, or a problem to come back to.")
    records: Annotated[dict[Key, Written], Field(max_length=200)] = Field(
        default_factory=dict, description="What the step asks to write down, by the record's key."
    )
    torques: Annotated[list[TorqueSent], Field(max_length=200)] = Field(
        default_factory=list, description="The torques that were used."
    )


class ToolUseShown(Shown):
    """A tool that is needed."""

    tool: str = Field(description="The tool.")
    size: str | None = Field(description="Its size.")
    title: str = Field(description="What it is called.")
    owned: bool = Field(description="Whether it is on the bench.")


class BlockedByShown(Shown):
    """One thing that holds a step up."""

    kind: Literal["step", "part", "tool", "fact", "wait", "shop"] = Field(description="What kind of thing.")
    say: str = Field(description="What it is, and what would free the step.")
    step: str | None = Field(description="The step before it.")
    part_id: UUID | None = Field(serialization_alias="part", description="The part that is not in hand.")
    expected_on: date | None = Field(description="The day the part should arrive.")
    until: datetime | None = Field(description="Until when something rests.")
    tool: str | None = Field(description="The tool that is not on the bench.")
    field: str | None = Field(description="The spec to measure.")


class FactAskedShown(Shown):
    """A spec that decides something, and how to find it out."""

    part_id: UUID | None = Field(serialization_alias="part", description="The part; null for the build.")
    category: str = Field(description="What kind of part.")
    field: str = Field(description="The spec.")
    title: str = Field(description="What it is.")
    how: str = Field(description="How to measure it.")


class RecordAskedShown(Shown):
    """Something to write down, with what was written."""

    key: str = Field(description="Its name within the step; send it back under this key.")
    into: str = Field(description="Where it is kept: check, spec, wear, set-up, mass.")
    title: str = Field(description="What to write down.")
    low: float | None = Field(description="At least, in the unit that the title or key names.")
    high: float | None = Field(description="At most.")
    otherwise: str | None = Field(description="What to do where it is not.")
    choices: Mapping[str, str] = Field(description="The answers there are, where it is not a number.")
    text: bool = Field(description="Whether free words are asked for.")
    part_id: UUID | None = Field(serialization_alias="part", description="The part it belongs to.")
    place: str = Field(description="Where on the part.")
    basis: str | None = Field(description="Where the figures come from.")
    source: str | None = Field(description="The source, an id of /sources.")
    number: float | None = Field(description="The number that was written.")
    words: str | None = Field(description="The words that were written.")


class ConsumableShown(Shown):
    """Something that is used up."""

    what: str = Field(description="What.")
    amount: float = Field(description="How much.")
    unit: str = Field(description="In what.")


class GeneralShown(Shown):
    """The library's range, whatever the makers say."""

    low_nm: float | None = Field(description="Least torque, N·m.")
    high_nm: float | None = Field(description="Most torque, N·m.")
    basis: str = Field(description="Where the figures come from.")
    source: str | None = Field(description="The source, an id of /sources.")


class TorqueShown(Shown):
    """One fastening: what it is tightened to, who says so, with which wrench."""

    fastening: str = Field(description="The fastening, as category.key.")
    title: str = Field(description="What it is.")
    only_if: str | None = Field(
        description="What must turn out for it to hold, where a fact that decides it is not known; null where it holds."
    )
    bolts: int = Field(description="How many bolts.")
    low_nm: float | None = Field(description="Least torque, N·m; null where only a maximum is known, or by feel.")
    high_nm: float | None = Field(description="Most torque, N·m; null where it is done by feel.")
    feel: str | None = Field(description="How it feels when right, where it is not a torque.")
    governs: str = Field(description="Who says so.")
    general: GeneralShown = Field(description="The library's range.")
    wrench: str | None = Field(description="The workshop's wrench that covers it.")
    thread: str | None = Field(description="The thread.")
    left_hand: bool = Field(description="Whether it tightens anticlockwise.")
    dressing: str | None = Field(description="Grease, threadlock, dry, paste.")
    note: str | None = Field(description="Where the trade disagrees.")
    care: str | None = Field(description="Makers that exclude one another, or a figure far from the general range.")


class StepShown(Shown):
    """One action with what it needs, what it waits for and why it is here."""

    id: str = Field(description="The step, as category.key@place.")
    title: str = Field(description="What to do, in a line.")
    text: str = Field(description="How.")
    stage: str = Field(description="The stretch of the build it belongs to.")
    state: Literal["open", "done", "skipped"] = Field(description="How it stands.")
    reopened: str | None = Field(description="Why it is open again.")
    marked_at: datetime | None = Field(description="When it was ticked or skipped.")
    mark_note: str = Field(serialization_alias="note", description="The remark made with the tick.")
    wording_changed: bool = Field(description="Whether the words have changed since it was ticked.")
    fingerprint: str = Field(description="The parts it is about; send it back with a tick.")
    category: str = Field(description="The category whose file it stands in.")
    parts: list[UUID] = Field(description="The parts it works on.")
    place: str = Field(description="Where on the bicycle.")
    where: Literal["home", "shop", "anywhere"] = Field(description="Where it is done.")
    minutes: int = Field(description="Hands-on minutes.")
    waits_minutes: int = Field(description="Minutes that something must rest after it.")
    safety: bool = Field(description="Whether skipping it calls for a qualified mechanic.")
    cuts: bool = Field(description="Whether it takes material off.")
    look: bool = Field(description="Whether it is a look at a used part.")
    cautions: list[str] = Field(description="What to heed, before the action.")
    reject: str | None = Field(description="What makes the part scrap.")
    tools: list[ToolUseShown] = Field(description="Tools.")
    consumables: list[ConsumableShown] = Field(description="What is used up.")
    torques: list[TorqueShown] = Field(description="How tight; the part maker's figure governs.")
    records: list[RecordAskedShown] = Field(description="What to write down.")
    after: list[str] = Field(description="The steps before it.")
    blocked_by: list[BlockedByShown] = Field(description="What holds it up.")
    because: list[str] = Field(description="Why it is here.")
    undecided: list[FactAskedShown] = Field(description="Facts that would settle whether it applies.")
    fits: list[UUID] = Field(description="The planned parts that ticking it fits.")
    step_hash: str = Field(description="Names this wording.")
    basis: str | None = Field(description="Where its figures come from.")
    source: str | None = Field(description="The source, an id of /sources.")


class MeasureFirstShown(Shown):
    """A fact to find out before starting."""

    part: UUID | None = Field(description="The part; null for the build.")
    category: str = Field(description="What kind of part.")
    field: str = Field(description="The spec.")
    title: str = Field(description="What it is.")
    how: str = Field(description="How to measure it.")
    decides: int = Field(description="How many steps it decides.")


class ShopVisitShown(Shown):
    """One visit to a shop."""

    visit: int = Field(description="Which visit.")
    steps: list[str] = Field(description="What is done there.")
    bring: list[UUID] = Field(description="The parts to bring.")
    ready: bool = Field(description="Whether it is worth going now.")
    waits_for: list[str] = Field(description="What must be there or done before.")


class LongestChainShown(Shown):
    """The longest chain of minutes, waits and arrivals from now to the end."""

    minutes: int = Field(description="Its length, minutes.")
    steps: list[str] = Field(description="The steps on it.")


class SmallPartShown(Shown):
    """Something small that is rarely in the box."""

    what: str = Field(description="What.")
    amount: float = Field(description="How much.")
    unit: str = Field(description="In what.")
    part_id: UUID = Field(serialization_alias="part", description="The part it goes with.")
    undecided: bool = Field(description="Whether a spec that is not measured decides it.")


class ProgressShown(Shown):
    """How far it is."""

    total: int = Field(description="All steps.")
    done: int = Field(description="Done.")
    skipped: int = Field(description="Skipped.")
    open: int = Field(description="Open.")
    undecided: int = Field(description="Open, and perhaps not needed.")


class ChecklistShown(Shown):
    """A job drawn up for these parts today."""

    id: UUID = Field(description="The checklist.")
    job: Job = Field(description="What is to be done.")
    about_part_id: UUID | None = Field(serialization_alias="about_part", description="The part it is about.")
    task: str | None = Field(description="The task it does.")
    finished_at: datetime | None = Field(description="When it was finished.")
    notes: list[str] = Field(description="What is said above the steps.")
    measure_first: list[MeasureFirstShown] = Field(description="What to find out before starting.")
    minutes_left: int = Field(description="Hands-on minutes left.")
    longest_chain: LongestChainShown = Field(description="The longest chain to the end.")
    tools: list[ToolUseShown] = Field(description="All tools for what is open.")
    consumables: list[ConsumableShown] = Field(description="All that is used up for what is open.")
    small_parts: list[SmallPartShown] = Field(description="What to buy with the parts.")
    shop_visits: list[ShopVisitShown] = Field(description="The fewest visits to a shop.")
    today: list[str] = Field(description="What can be done today with what is here.")
    needs_mechanic: str | None = Field(description="Why a qualified mechanic should look the bicycle over.")
    progress: ProgressShown = Field(description="How far it is.")
    steps: list[StepShown] = Field(description="The steps, in order.")


class ChecklistLine(Shown):
    """A job in a list."""

    id: UUID = Field(description="The checklist.")
    job: Job = Field(description="What is to be done.")
    about_part_id: UUID | None = Field(serialization_alias="about_part", description="The part it is about.")
    task: str | None = Field(description="The task it does.")
    started_at: datetime = Field(description="When it was started.")
    finished_at: datetime | None = Field(description="When it was finished.")


class ChecklistPage(Shown):
    """The jobs of a build."""

    items: list[ChecklistLine] = Field(description="Newest first.")
    next: str | None = Field(description="Always null: jobs come whole.")


class ChecklistForCategory(Shown):
    """A checklist for a category, with nothing stored."""

    category: str = Field(description="The category.")
    title: Name = Field(description="What it is called.")
    needs_mechanic: str | None = Field(description="What files of your own leave out, and who should look at it then.")
    steps: list[StepShown] = Field(description="The steps, in order.")
