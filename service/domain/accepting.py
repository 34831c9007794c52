"""Which finding may be accepted with a reason: a conflict that is no matter of brakes, steering, wheels or threads."""

from collections.abc import Iterable

from service.domain.joins import Finding
from service.errors import Conflict, NotFound, PartsChanged


def finding_named(found: Iterable[Finding], join: str) -> Finding:
    """The finding of this id, "category.key@place". Raises NotFound."""
    met = next((each for each in found if each.join == join), None)
    if met is None:
        raise NotFound("finding", join)
    return met


def to_accept(found: Iterable[Finding], join: str, fingerprint: str) -> Finding:
    """The conflict that is accepted, for exactly the parts and facts that its fingerprint names.

    Raises NotFound; PartsChanged where parts or facts are others now; Conflict where there is nothing to accept, or
    where a conflict of this kind is never accepted.
    """
    finding = finding_named(found, join)
    if finding.fingerprint != fingerprint:
        raise PartsChanged(
            "Parts or facts of this finding have changed since it was read. Read it again, then decide.",
            errors=[("/fingerprint", f"is {fingerprint!r}, now {finding.fingerprint!r}")],
            current={"answer": finding.answer, "fingerprint": finding.fingerprint},
        )
    if finding.answer != "conflicts":
        raise Conflict(
            f"{finding.title}: {finding.answer}. Only a conflict is accepted; the rest needs no acceptance.",
            current={"answer": finding.answer, "fingerprint": finding.fingerprint},
        )
    if not finding.acceptable:
        raise Conflict(
            f"{finding.title}: this conflict is never accepted. {finding.say} Change a part, correct a fact, or enter "
            "the adaptor that bridges it as a part.",
            current={"answer": finding.answer, "fingerprint": finding.fingerprint},
        )
    return finding
