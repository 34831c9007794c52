"""The pages of trouble: the symptoms in plain words, then one symptom: whether to ride, and its causes in order."""

from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Who, signed_in_router
from service.domain.bicycle import Bicycle
from service.domain.trouble import stages_of
from service.ids import new_id, parse_id
from service.records.trouble import Asked, get_trouble, list_trouble
from service.web.pages import render

router = signed_in_router(include_in_schema=False)
MEANING = {
    "do not ride": "Do not ride until the cause is found and put right.",
    "ride home gently": "Ride home gently, then find the cause.",
    "ride": "You may ride; find the cause soon.",
}


@router.get("/trouble")
def show_trouble(db: Db, who: Who, library: Library, stage: str = "") -> Response:
    """All symptoms, or those of a stage."""
    asked = Asked(stage=stage or None)
    return _list_page(db, who, library, asked)


@router.get("/trouble/{key}")
def show_symptom(key: str, db: Db, who: Who, library: Library) -> Response:
    """One symptom, on no bicycle in particular."""
    return _symptom_page(db, who, library, key, None)


@router.get("/builds/{build_id}/trouble")
def show_trouble_of_build(
    build_id: UUID, db: Db, who: Who, library: Library, stage: str = "", part: str = ""
) -> Response:
    """The symptoms on one build, or of one part of it."""
    asked = Asked(stage=stage or None, part=parse_id(part), build=build_id)
    return _list_page(db, who, library, asked)


@router.get("/builds/{build_id}/trouble/{key}")
def show_symptom_of_build(build_id: UUID, key: str, db: Db, who: Who, library: Library) -> Response:
    """One symptom on one build, with what can be started there."""
    return _symptom_page(db, who, library, key, build_id)


def _list_page(db: Db, who: Who, library: Library, asked: Asked) -> Response:
    with db.reading() as session:
        bicycle, found = list_trouble(session, who, asked, library)
    part = bicycle.parts.get(asked.part) if bicycle is not None and asked.part is not None else None
    return render(
        "trouble.html",
        build=_build(bicycle),
        base=_base(asked.build),
        part=part,
        stage=asked.stage,
        stages=stages_of(library),
        found=found,
    )


def _symptom_page(db: Db, who: Who, library: Library, key: str, build: UUID | None) -> Response:
    with db.reading() as session:
        bicycle, trouble = get_trouble(session, who, key, build, library)
    return render(
        "symptom.html",
        build=_build(bicycle),
        base=_base(build),
        trouble=trouble,
        meaning=MEANING,
        new_id=new_id,
        library=library,
    )


def _build(bicycle: Bicycle | None) -> object:
    return bicycle.build if bicycle is not None else None


def _base(build: UUID | None) -> str:
    return f"/builds/{build}/trouble" if build is not None else "/trouble"
