"""Every table of the database, by noun."""

from sqlalchemy import and_, inspect
from sqlalchemy.orm import relationship

from service.tables.bench import OwnedTool, Wrench
from service.tables.builds import Acceptance, Build, Expense, Fitting, Plan, SetUp
from service.tables.care import EventTask, MaintenanceEvent, Message, PutOff, Reminder, ServiceRule, WearMeasurement
from service.tables.checklists import Checklist, Mark, StepRecord, TorqueReading
from service.tables.journal import Journal
from service.tables.parts import Part, Spec, TorqueFigure
from service.tables.people import Channel, Device, Member, Person, Share, SignIn, Workshop
from service.tables.riding import OdometerReading, Ride

__all__ = [
    "Acceptance",
    "Build",
    "Channel",
    "Checklist",
    "Device",
    "EventTask",
    "Expense",
    "Fitting",
    "Journal",
    "MaintenanceEvent",
    "Mark",
    "Member",
    "Message",
    "OdometerReading",
    "OwnedTool",
    "Part",
    "Person",
    "Plan",
    "PutOff",
    "Reminder",
    "Ride",
    "ServiceRule",
    "SetUp",
    "Share",
    "SignIn",
    "Spec",
    "StepRecord",
    "TorqueFigure",
    "TorqueReading",
    "WearMeasurement",
    "Workshop",
    "Wrench",
]


def _parents_first() -> None:
    """Lets one flush write a row and what it refers to in the right order; without a relationship none is kept.

    The relationships are there for the order alone: reading one raises, and nothing is loaded or set through them.
    """
    mappers = {mapper.local_table: mapper for mapper in (inspect(globals()[noun]) for noun in __all__)}
    for table, mapper in mappers.items():
        for constraint in table.foreign_key_constraints:
            name = "_row_of_" + "_".join(column.name for column in constraint.columns)
            on = and_(*(element.parent == element.column for element in constraint.elements))
            mapper.add_property(
                name,
                relationship(
                    mappers[constraint.referred_table],
                    primaryjoin=on,
                    foreign_keys=list(constraint.columns),
                    lazy="raise",
                ),
            )


_parents_first()
