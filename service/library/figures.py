"""Do the figures hold: bases and sources, torques against bolts and as printed, sizes against snapping, limits."""

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from service.domain.bolt import DRY_K, ceiling_nm
from service.domain.procedure import Fastening, SpecField, Wear
from service.domain.units import printed_torque
from service.library.known import NEEDS_SOURCE
from service.library.report import Report, Spot, numbered, steps_of

BOLT_CLASS = "10.9"
"""The generous ceiling: bolts of this class, dry (K 0.2), at 75 % of their proof load."""

UNITS_AT_END = (
    *("mm", "g", "kg", "ml", "kpa", "nm", "n", "deg", "percent", "years", "rpm", "tpi", "ratio"),
    *("count", "teeth"),
)


def check_figures(report: Report) -> None:
    """Every number of every category, and the factors of the conditions."""
    for name, category in report.categories.items():
        for key, spec in numbered("specs", category.specs):
            _check_spec(report.spot(name, key), spec)
        for key, fastening in numbered("fastenings", category.fastenings):
            _check_basis(report.spot(name, key), fastening)
            _check_fastening(report.spot(name, key), fastening)
        for table in ("joins", "tasks"):
            for key, entry in numbered(table, getattr(category, table)):
                _check_basis(report.spot(name, key), entry)
        for key, wear in numbered("wear", category.wear):
            _check_wear(report.spot(name, key), wear)
        for key, step in steps_of(category):
            for number, record in numbered("records", () if step.records == "all-wear" else step.records):
                _check_basis(report.spot(name, (*key, *number)), record)
                if record.low is not None and record.high is not None and record.low > record.high:
                    report.wrong(name, (*key, *number, "low"), "low must not be above high")
            if step.safety and not step.cautions and not step.records:
                report.doubt(name, key, "a safety step has a caution or a record")
            if step.home_with and step.where != "shop":
                report.wrong(name, (*key, "home_with"), 'only a step with where = "shop" is brought home by a tool')
    sources = report.table("sources")
    for name, factors in report.table("factors").items():
        if factors.basis in NEEDS_SOURCE and factors.source is None:
            report.wrong_in("conditions", ("factors", name), f"a figure of basis {factors.basis!r} names its source")
        elif factors.source is not None and factors.source not in sources and report.can_tell("sources"):
            report.wrong_in("conditions", ("factors", name, "source"), f"no source {factors.source!r}")


def _check_basis(at: Spot, entry: Any) -> None:
    if entry.basis in NEEDS_SOURCE and entry.source is None:
        at.inside("basis").wrong(f"a figure of basis {entry.basis!r} names its source")


def _check_stands(at: Spot, entry: SpecField | Wear, figures: Mapping[str, Any]) -> None:
    """What has a figure says on what it stands."""
    _check_basis(at, entry)
    given = [name for name, figure in figures.items() if figure not in (None, (), {})]
    if given and entry.basis is None:
        at.inside("key").wrong(f"{', '.join(given)}: every figure says on what it stands: name a `basis`")


def _check_spec(at: Spot, spec: SpecField) -> None:
    _check_stands(at, spec, {name: getattr(spec, name) for name in ("nominal", "sizes", "low", "high")})
    is_number = spec.kind in ("number", "numbers")
    if is_number and spec.key.rpartition("_")[2] not in UNITS_AT_END:
        at.inside("key").wrong(f"a number ends in its unit: {', '.join('_' + u for u in UNITS_AT_END)}")
    if spec.kind in ("choice", "choices") and len(spec.choices) < 2:
        at.wrong("a choice needs at least two `choices`")
    if spec.choices and spec.kind not in ("choice", "choices"):
        at.inside("choices").wrong(f"a {spec.kind} has no choices")
    if not is_number and (spec.nominal or spec.sizes or spec.low is not None or spec.high is not None):
        at.wrong(f"a {spec.kind} has no low, high, nominal or sizes")
    if spec.at_most is not None:
        _check_at_most(at.inside("at_most"), spec)
    if spec.until_measured is not None:
        _check_until_measured(at.inside("until_measured"), spec)
    if spec.low is not None and spec.high is not None and spec.low >= spec.high:
        at.inside("low").wrong("low must be under high")
    if spec.nominal:
        sizes = sorted(spec.nominal)
        smallest = min((after - before for before, after in pairwise(sizes)), default=None)
        reach = spec.give if spec.snap is None else spec.snap
        if smallest is not None and reach * 2 >= smallest - 1e-9:
            word = "snap" if spec.snap is not None else "give (there is no snap)"
            what = f"{word} {reach:g} must be under half the smallest step, {smallest:g}"
            at.inside("snap").wrong(what)
    for number, (low, high, _) in enumerate(spec.sizes):
        if low > high:
            at.inside("sizes", number).wrong("low, high, size: low is over high")


def _check_at_most(at: Spot, spec: SpecField) -> None:
    """A pair of numbers in one unit, the least before the most."""
    most = at.report.spec(at.category, spec.at_most or "")
    if most is None or most.key == spec.key:
        at.wrong(f"{at.category} has no other spec {spec.at_most!r}")
    elif (spec.kind, most.kind) != ("number", "number"):
        at.wrong("only a number is at most another number")
    elif spec.key.rpartition("_")[2] != most.key.rpartition("_")[2]:
        at.wrong(f"{spec.key} and {most.key} end in different units")


def _check_until_measured(at: Spot, spec: SpecField) -> None:
    """Another number of the same unit, which itself waits for nothing else."""
    marked = at.report.spec(at.category, spec.until_measured or "")
    if marked is None or marked.key == spec.key:
        at.wrong(f"{at.category} has no other spec {spec.until_measured!r}")
    elif (spec.kind, marked.kind) != ("number", "number") or marked.until_measured is not None:
        at.wrong("only a number stands for another number until that is measured, and none stands for it in turn")
    elif spec.key.rpartition("_")[2] != marked.key.rpartition("_")[2]:
        at.wrong(f"{spec.key} and {marked.key} end in different units")


def _check_fastening(at: Spot, fastening: Fastening) -> None:
    low, high = fastening.low_nm, fastening.high_nm
    if fastening.audit is not None and fastening.audit is (high is not None):
        at.inside("audit").wrong(
            "an audit goes over what has a figure, and leaves out what goes by feel: take this out"
        )
    if (high is None) == (fastening.feel is None):
        at.wrong("a fastening has either `high_nm` (with `low_nm`) or `feel`")
        return
    if high is None:
        if low is not None:
            at.inside("low_nm").wrong("what goes by feel has no torque")
        return
    if high <= 0 or (low is not None and not 0 < low <= high):
        at.inside("low_nm").wrong("0 < low_nm <= high_nm must hold")
    ceiling = ceiling_nm(fastening.thread, BOLT_CLASS) if fastening.thread else None
    if ceiling is not None and high > ceiling:
        what = (
            f"{high:g} N·m is more than a {fastening.thread} bolt takes: {ceiling:.1f} N·m "
            f"(class {BOLT_CLASS}, K {DRY_K:g}, 75 % of proof)"
        )
        if fastening.over_ceiling is None:
            at.inside("high_nm").doubt(f"{what}; if a published figure stands all the same, `over_ceiling` says why")
    elif fastening.over_ceiling is not None:
        at.inside("over_ceiling").wrong("the figure is not over what the bolt takes: take this out")
    if fastening.as_printed is not None:
        _check_as_printed(at, fastening)


def _check_as_printed(at: Spot, fastening: Fastening) -> None:
    """Within 2 % or half a unit of the last place that is usual, 0.5 N·m."""
    printed = printed_torque(fastening.as_printed or "")
    if printed is None:
        what = f"{fastening.as_printed!r} cannot be read; write it as 71-88 lbf·in, or leave it out"
        at.inside("as_printed").wrong(what)
        return
    for name, stated, read in (("low_nm", fastening.low_nm, printed[0]), ("high_nm", fastening.high_nm, printed[1])):
        if stated is not None and read is not None and abs(stated - read) > max(0.02 * read, 0.5):
            what = f"{fastening.as_printed} is {read:.1f} N·m, but {name} is {stated:g}"
            at.inside("as_printed").wrong(what)


def _check_wear(at: Spot, wear: Wear) -> None:
    new = wear.new if isinstance(wear.new, int | float) else None
    figures = {"new": new, "new_spread": wear.new_spread, "reading_error": wear.reading_error}
    _check_stands(at, wear, figures | {"running_in_km": wear.running_in_km or None})
    if isinstance(wear.new, dict) and at.report.spec(at.category, str(wear.new.get("spec"))) is None:
        at.inside("new").wrong(f"{at.category} has no spec {wear.new.get('spec')!r}")
    for number, rate in enumerate(wear.rates):
        _check_basis(at.inside("rates", number), rate)
        if (rate.per_1000_km is None) == (rate.per_30_days is None):
            at.inside("rates", number).wrong("a rate has either `per_1000_km` or `per_30_days`")
    for number, limit in enumerate(wear.limits):
        there = at.inside("limits", number)
        given = [word for word in ("value", "spec", "of_new", "of_first_reading") if getattr(limit, word) is not None]
        if len(given) != 1:
            there.wrong("a limit has one of `value`, `spec`, `of_new`, `of_first_reading`")
            continue
        if limit.spec is None:
            _check_basis(there, limit)
        elif at.report.spec(at.category, limit.spec) is None:
            there.inside("spec").wrong(f"{at.category} has no spec {limit.spec!r}")
        _check_side(there.inside(given[0]), wear, getattr(limit, given[0]))


def _check_side(at: Spot, wear: Wear, limit: Any) -> None:
    """A limit lies where the reading goes: above new where it grows, below where it shrinks."""
    word = at.key[-1]
    new = 1.0 if word in ("of_new", "of_first_reading") else wear.new
    if word == "spec" or not isinstance(new, int | float):
        return
    if (limit <= new) if wear.direction == "grows" else (limit >= new):
        side = "above" if wear.direction == "grows" else "below"
        at.wrong(f"the limit {limit:g} must be {side} new, {new:g}, as the reading {wear.direction}")
