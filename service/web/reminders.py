"""The page of reminders: where they go, how each channel is doing, a trial."""

from uuid import UUID

from fastapi import Request
from starlette.responses import Response

from service.context import Db, Now, Who, signed_in_router
from service.errors import Refusal
from service.records import channels, people, reminders
from service.schemas.channels import ChannelChanged, ChannelSent
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, id_for, read
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@router.get("/reminders")
def show_reminders(db: Db, who: Who) -> Response:
    """The channels of the person who asks."""
    return _page(db, who)


@router.post("/reminders")
def add_channel(form: Form, db: Db, who: Who, now: Now) -> Response:
    """Adds a channel; the key of a webhook is shown this once."""
    try:
        values = form.filled("id", "kind", "address") | form.numbers("weekly_on")
        with db.writing() as session:
            row, new = channels.add_channel(session, who, who.person_id, read(ChannelSent, values), now=now)
            key = row.signing_key if new else None
    except Refusal as refusal:
        return _page(db, who, typed=form, wrong=Wrong(refusal))
    if key is None:
        return see("/reminders")
    page = _page(db, who, key=key)
    page.headers["Cache-Control"] = "no-store"
    return page


@router.post("/reminders/{channel_id}")
def change_channel(channel_id: UUID, form: Form, request: Request, db: Db, who: Who, now: Now) -> Response:
    """Tries a channel, switches it off or on, sets its day, or removes it."""
    do = form("do")
    try:
        with db.writing() as session:
            if do == "trial":
                channels.get_channel(session, who, channel_id)
                reminders.plan_trial(session, channel_id, now=now, address=request.app.state.address)
            elif do == "remove":
                channels.remove_channel(session, who, channel_id, form.version())
            else:
                values = form.numbers("weekly_on") | ({"off": do == "off"} if do in ("off", "on") else {})
                sent = read(ChannelChanged, values)
                channels.change_channel(session, who, channel_id, sent, version=form.version(), now=now)
    except Refusal as refusal:
        return _page(db, who, wrong=Wrong(refusal))
    return see(f"/reminders?said={'trial' if do == 'trial' else 'changed'}")


def _page(
    db: Db, who: people.Who, *, typed: Typed | None = None, wrong: Wrong = NOTHING_WRONG, key: str = ""
) -> Response:
    with db.reading() as session:
        found = [row.model_dump() for row in channels.list_channels(session, who, who.person_id)]
        waiting = reminders.waiting_count(session, [each["id"] for each in found])
    typed = typed or Typed()
    return render(
        "reminders.html",
        status=wrong.status,
        found=found,
        waiting=waiting,
        days=list(enumerate(DAYS)),
        key=key,
        typed=typed,
        wrong=wrong,
        who=who,
        new_id=id_for(typed, wrong),
    )
