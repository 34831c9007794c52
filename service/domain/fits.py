"""Whether a part would meet at a place of a bicycle: what the joins it would have there answer."""

from collections.abc import Sequence, Set
from dataclasses import dataclass

from service.domain.bicycle import Bicycle, Part
from service.domain.calculation import JoinAnswer
from service.domain.calculations import CALCULATIONS
from service.domain.ends import role_specs
from service.domain.joins import Finding, findings_around, with_joins
from service.domain.meetings import SHIM, WHOLE
from service.domain.places import surroundings
from service.domain.procedure import Join, Library
from service.domain.whatif import Supposed, suppose

BEST_FIRST: tuple[JoinAnswer, ...] = ("meets", "needs care", "not measured yet", "conflicts")


@dataclass(frozen=True, slots=True)
class WouldFit:
    """A part with the findings on every join it would have, worst first; no `answer` where it would meet nothing."""

    part: Part
    answer: JoinAnswer | None
    findings: tuple[Finding, ...]

    @property
    def rank(self) -> tuple[int, int]:
        """The best first, then what needs the fewest measurements; what would meet nothing goes with what meets."""
        asked = {(each.part_id, each.field) for finding in self.findings for each in finding.measure}
        return (0 if self.answer is None else BEST_FIRST.index(self.answer), len(asked))


def would_fit(bicycle: Bicycle, part: Part, place: str, library: Library) -> WouldFit:
    """What the joins of this part would answer at a whole place ("front.left"), in place of what is there now.

    Joins of the bicycle as a whole are left out: they hang on every part. So is what waits for the rider's position.
    Raises Refusal where its category has no such place on this bicycle.
    """
    supposed = suppose(bicycle, [Supposed(part, place)], library)
    around = with_joins(surroundings(supposed.bicycle, library))
    roles = {role for role, placed in around.by_role.items() if any(each.part.id == part.id for each in placed)}
    found = findings_around(around, lambda owner, join: _takes_part(roles, owner, join))
    met = [each for each in found if part.id in each.parts]
    decided = [each for each in met if each.answer != "not measured yet" or each.measure]
    worst_first = sorted(decided, key=lambda each: (-BEST_FIRST.index(each.answer), each.join))
    return WouldFit(part, worst_first[0].answer if worst_first else None, tuple(worst_first))


def _takes_part(roles: Set[str], owner: str, join: Join) -> bool:
    """Can a part in these roles be among those that a join is about? Not in the bicycle's own, which are about all.

    What a part is fitted to, and what is asked of every part, may be any.
    """
    calculated = CALCULATIONS.get(join.by or "")
    read = (name.rpartition(".")[0] for name in (calculated.reads if calculated else ()))
    named = {owner, SHIM, *(name.partition("@")[0] for name in join.with_), *read}
    return owner != WHOLE and not named.isdisjoint(roles | {"host", "*"})


def can_fill(slot: str, library: Library) -> Sequence[str]:
    """The categories whose parts can fill a slot: its own, then those that stand in for it."""
    others = [name for name, each in library.categories.items() if slot in role_specs(each) and not each.deprecated]
    return (slot, *sorted(others))
