"""Does a person's own fastening stand beside one of the same key, where it was meant to replace it?"""

from pathlib import Path

from service.domain.choices import TooManyCombinations, asked_of
from service.domain.procedure import When
from service.library.groups import Trials, values_of
from service.library.report import Report


def check_doubles(report: Report, own: Path) -> None:
    """Warns of every fastening in the folder `own` that adds a second figure for a bolt, both shown at once."""
    for name, category in report.categories.items():
        met: dict[str, list[When]] = {}
        added = []
        trials = Trials()
        for number, fastening in enumerate(category.fastenings):
            if (name, ("fastenings", number)) in report.unsound:
                continue
            file, _ = report.document(name).place(("fastenings", number))
            if file.is_relative_to(own):
                added.append((number, fastening))
            else:
                met.setdefault(fastening.key, []).append(fastening.when)
        for number, fastening in added:
            others = met.setdefault(fastening.key, [])
            if any(_may_both_hold(report, name, (fastening.when, other), trials) for other in others):
                what = f"{name} has {fastening.key!r} under another `when`; both will be shown"
                report.doubt(name, ("fastenings", number), what)
            others.append(fastening.when)


def _may_both_hold(report: Report, category: str, both: tuple[When, When], trials: Trials) -> bool:
    """False only where no combination of the facts they read lets both hold."""
    values = {fact: values_of(report, category, fact, asked) for fact, asked in asked_of(both).items()}
    if not all(values.values()):
        return True
    try:
        return any(hole.count > 1 for hole in trials.holes(both, values))
    except TooManyCombinations:
        return True
