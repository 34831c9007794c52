"""The API of files with rides: a recorded track is one ride, a sheet of comma-separated values is many."""

from dataclasses import asdict, dataclass
from typing import Annotated, Any, Literal
from uuid import UUID

from fastapi import Depends, Query, Request, Response
from fastapi.concurrency import run_in_threadpool

from service.api.queries import check_queries
from service.context import Db, Now, Who, signed_in_router, tag_row
from service.domain.ride_columns import Columns, DateOrder, Decimal
from service.domain.sheet import DELIMITERS
from service.errors import Asks, Conflict, Gone, NotFound, Refusal, TooLarge
from service.formats.csv_rows import LARGEST_BYTES, MOST_ROWS, read_csv
from service.records import importing
from service.records.importing import TrackFile, TrackReading
from service.schemas.fields import Day
from service.schemas.importing import Repeats, RidesImported, ToldBeside
from service.schemas.problems import refusals
from service.schemas.riding import Conditions, RideShown
from service.schemas.showing import show_ride

router = signed_in_router(check_queries, prefix="/api/v1", tags=["riding"])
GPX_BODY: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "description": "A GPX 1.1 file of up to 100 MB, read piece by piece; neither track nor places are kept.",
        "content": {"application/gpx+xml": {"schema": {"type": "string"}}},
    }
}
CSV_BODY: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "description": f"A CSV file of up to {LARGEST_BYTES // 1_000_000} MB and {MOST_ROWS} rows; its first line "
        "names the columns; comma, semicolon or tab; UTF-8, or UTF-16 with its mark.",
        "content": {"text/csv": {"schema": {"type": "string"}}},
    }
}
Column = Annotated[str | None, Query(max_length=130)]


async def _track_sent(request: Request) -> TrackFile:
    reading = TrackReading()
    async for piece in request.stream():
        await run_in_threadpool(reading.feed, piece)
    return reading.done()


@dataclass
class Beside:
    """What holds for every ride of a file."""

    conditions: Annotated[Conditions, Query(description="The ground and weather for most of it.")] = "dry"
    loaded: Annotated[bool, Query(description="15 kg of luggage or more, or a trailer.")] = False
    descents: Annotated[bool, Query(description="Long descents, or stop-and-go town riding.")] = False

    def told(self, **more: Any) -> ToldBeside:
        """The same as a value."""
        values = {"conditions": self.conditions, "loaded": self.loaded, "descents": self.descents, **more}
        return ToldBeside.model_validate({name: value for name, value in values.items() if value is not None})


@router.post(
    "/rides/gpx",
    status_code=201,
    summary="Log a ride from its track",
    responses=refusals(Refusal, NotFound, Asks, Conflict, Gone),
    openapi_extra=GPX_BODY,
)
def add_ride_from_track(
    track: Annotated[TrackFile, Depends(_track_sent)],
    build: Annotated[UUID, Query(description="The build that was ridden.")],
    beside: Annotated[Beside, Depends()],
    response: Response,
    db: Db,
    who: Who,
    now: Now,
    day: Annotated[Day | None, Query(description="The day of a track without times; with times they decide.")] = None,
    sure: Annotated[bool, Query(description="True where a day of more than 2,000 km is right.")] = False,
) -> RideShown:
    """Distance, climb, moving time and start are kept. The same file on the same build is once: then 200."""
    with db.writing() as session:
        ride, new = importing.store_track(session, who, build, track, beside.told(day=day, sure=sure), now=now)
        response.status_code = 201 if new else 200
        tag_row(response, ride.version)
        return show_ride(ride)


@dataclass
class How:
    """How an import is done."""

    dry_run: Annotated[bool, Query(description="Store nothing; answer what would be stored, and every problem.")] = (
        False
    )
    delimiter: Annotated[
        Literal["comma", "semicolon", "tab"] | None, Query(description="What parts the cells; left out: found out.")
    ] = None
    repeats: Annotated[
        Repeats, Query(description="What is done with rows that look like another row, or like a stored ride.")
    ] = "ask"
    sure: Annotated[bool, Query(description="True where days of more than 2,000 km are right.")] = False
    leave_out_wrong: Annotated[bool, Query(description="Store the right rows although others are wrong.")] = False


async def _sheet_sent(request: Request) -> bytes:
    data = bytearray()
    async for piece in request.stream():
        data += piece
        if len(data) > LARGEST_BYTES:
            raise TooLarge(f"A CSV file may have {LARGEST_BYTES // 1_000_000} MB: cut it, send each part.")
    return bytes(data)


@dataclass
class Asked:
    """Which columns of the file are read, and how; what is left out is found out, or asked for in the refusal."""

    when: Annotated[Column, Query(description="The column of the day, with or without a time.")] = None
    time_of_day: Annotated[Column, Query(description="The column of the time of day, where it stands alone.")] = None
    distance: Annotated[Column, Query(description="The column of the distance.")] = None
    moving_time: Annotated[Column, Query(description="The column of the moving time; empty: none.")] = None
    climb: Annotated[Column, Query(description="The column of the climb; empty: none.")] = None
    conditions_column: Annotated[Column, Query(description="The column of the conditions; empty: none.")] = None
    note: Annotated[Column, Query(description="The column of the remark; empty: none.")] = None
    distance_unit: Annotated[Literal["km", "m", "mi"] | None, Query(description="The distance's unit.")] = None
    moving_time_unit: Annotated[
        Literal["s", "min", "h", "h:mm", "mm:ss"] | None, Query(description="The moving time's unit.")
    ] = None
    climb_unit: Annotated[Literal["m", "ft"] | None, Query(description="The climb's unit.")] = None
    date_order: Annotated[DateOrder | None, Query(description="What comes first where the year stands last.")] = None
    decimal: Annotated[Decimal | None, Query(description="What parts the fraction off.")] = None

    def columns(self) -> Columns:
        """The same as a value."""
        return Columns(**asdict(self))


@router.post(
    "/imports/rides",
    status_code=201,
    summary="Import rides from a CSV file",
    responses=refusals(Refusal, NotFound, Conflict)
    | {200: {"model": RidesImported, "description": "Nothing was stored: a dry run, or nothing in it is new"}},
    openapi_extra=CSV_BODY,
)
def add_rides_from_sheet(
    data: Annotated[bytes, Depends(_sheet_sent)],
    build: Annotated[UUID, Query(description="The build that was ridden.")],
    asked: Annotated[Asked, Depends()],
    beside: Annotated[Beside, Depends()],
    how: Annotated[How, Depends()],
    response: Response,
    db: Db,
    who: Who,
    now: Now,
) -> RidesImported:
    """All rides or none. Each keeps an id made of its build, start and length, so the same file again is once."""
    told = beside.told()
    mark = None if how.delimiter is None else DELIMITERS[how.delimiter]
    sheet = importing.read_sheet(who, build, read_csv(data, mark), asked.columns(), conditions=told.conditions, now=now)
    response.status_code = 200
    if how.dry_run:
        with db.reading() as session:
            checked = importing.check_rides(session, who, build, sheet, repeats=how.repeats, sure=how.sure)
        return importing.show_checked(checked, dry_run=True)
    with db.writing() as session:
        checked = importing.import_rides(
            session, who, build, sheet, told,
            repeats=how.repeats, sure=how.sure, leave_out_wrong=how.leave_out_wrong,
        )  # fmt: skip
    response.status_code = 201 if checked.sorted.new else 200
    return importing.show_checked(checked, dry_run=False)
