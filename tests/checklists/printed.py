"""A checklist, and what comes back later, printed as plain text that a mechanic can read from start to end."""

import re
import textwrap
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from service.domain.wording import ended

Answer = Mapping[str, Any]
WIDTH = 118


def printed(title: str, assemble: Answer, strip: Answer, due: Iterable[Answer], findings: Iterable[Answer]) -> str:
    """The whole of one bicycle: findings, what to measure and buy, each step, what is due later, taking it apart."""
    lines = [
        title,
        "=" * len(title),
        *_section("Where parts meet", _findings(list(findings))),
        *_section("Measure first", map(_measured, assemble["measure_first"])),
        *_section("Small parts to buy", [", ".join(_small_parts(assemble["small_parts"]))]),
        *_section("To the shop", map(_visit, assemble["shop_visits"])),
        *_section("Tools", [", ".join(map(_tool, assemble["tools"]))]),
        *_section("Used up", [", ".join(map(_consumable, assemble["consumables"]))]),
        "",
        *_steps(assemble),
        *_section("Comes back later", sorted(map(_due, due))),
        "",
        "Taking it apart",
        "---------------",
        *_steps(strip),
    ]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    found = list(lines)
    if found:
        yield from ("", f"## {title}", "")
        for line in found:
            yield from _wrapped(line, "- ", "  ")


def _wrapped(text: str, first: str, rest: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest, break_long_words=False)


def _findings(findings: list[Answer]) -> Iterator[str]:
    for finding in findings:
        if finding["answer"] != "meets":
            say = finding["say"].removeprefix(f"{finding['title']}: not measured yet.")
            said = " ".join(filter(None, [say.strip(), *finding["measure"]]))
            yield f"{finding['answer']}: {finding['title']} [{_join(finding)}]. {said}"
    yield "meets: " + ", ".join(_join(finding) for finding in findings if finding["answer"] == "meets")


def _join(finding: Answer) -> str:
    """The join and its place, without the part's id that tells two alike apart: that is another at every run."""
    return re.sub(r":[0-9a-f]{8}\b", "", finding["join"])


def _measured(fact: Answer) -> str:
    return f"{fact['category']}, {fact['title']} [{fact['field']}]: {fact['how']} (decides {fact['decides']})"


def _small_parts(small: Iterable[Answer]) -> list[str]:
    amounts: dict[str, float] = {}
    for each in small:
        name = f"{each['unit']} {each['what']}" + (" (perhaps)" if each["undecided"] else "")
        amounts[name] = amounts.get(name, 0) + each["amount"]
    return sorted(f"{amount:g} {name}" for name, amount in amounts.items())


def _visit(visit: Answer) -> str:
    return f"visit {visit['visit']}: {', '.join(visit['steps'])}"


def _tool(tool: Answer) -> str:
    return str(tool["title"]) + (f" {tool['size']}" if tool["size"] else "")


def _consumable(used: Answer) -> str:
    return f"{used['what']} {used['amount']:g} {used['unit']}"


def _due(due: Answer) -> str:
    at = f"@{due['place']}" if due["place"] else ""
    return f"{due['task']}{at}: {ended(due['title'])} {due['why']}"


def _steps(checklist: Answer) -> Iterator[str]:
    stage, said = "", ""
    for number, step in enumerate(checklist["steps"], 1):
        if step["stage"] != stage:
            stage = step["stage"]
            yield from ("", f"## {stage}", "")
        lines = list(_step(number, step))
        yield from lines[:1] if "\n".join(lines[1:]) == said else lines  # part after part in the same words
        said = "\n".join(lines[1:])


def _step(number: int, step: Answer) -> Iterator[str]:
    marks = [step["id"].partition(":")[0], f"{step['minutes']} min"]
    marks += [f"then rests {step['waits_minutes']} min"] if step["waits_minutes"] else []
    marks += [step["where"]] if step["where"] != "home" else []
    marks += [word for word in ("safety", "cuts", "look") if step[word]]
    yield f"{number}. {step['title']}  [{' · '.join(marks)}]"
    for said in (*_before(step), ("", step["text"]), *_beside(step)):
        yield from _wrapped(said[1], f"    {said[0]}", "    " + " " * min(len(said[0]), 2))


def _before(step: Answer) -> Iterator[tuple[str, str]]:
    for caution in step["cautions"]:
        yield "! ", caution
    for fact in step["undecided"]:
        yield "? ", f"Perhaps: it hangs on {fact['category']}, {fact['title']}"


def _beside(step: Answer) -> Iterator[tuple[str, str]]:
    if step["reject"]:
        yield "x ", f"Reject: {step['reject']}"
    for torque in step["torques"]:
        yield "= ", _torque(torque)
    for record in step["records"]:
        yield "> ", _record(record)
    used = [*map(_tool, step["tools"]), *map(_consumable, step["consumables"])]
    if used:
        yield "+ ", ", ".join(used)


def _torque(torque: Answer) -> str:
    figure = torque["feel"] or f"{_range(torque['low_nm'], torque['high_nm'])} N·m ({torque['general']['basis']})"
    more = [f"{torque['bolts']} × {torque['thread'] or 'bolt'}", torque["dressing"] or ""]
    more += ["left-hand thread" if torque["left_hand"] else "", torque["note"] or "", torque["only_if"] or ""]
    return f"{torque['title']}: {figure}; {', '.join(filter(None, more))}"


def _record(record: Answer) -> str:
    asked = _range(record["low"], record["high"]) or " / ".join(record["choices"].values())
    how = record["otherwise"] or ""
    if asked:
        asked += f"; otherwise {how}" if how else ""
    return f"{record['title']} [{record['into']}]{': ' if asked or how else ''}{asked or how}"


def _range(low: float | None, high: float | None) -> str:
    if low is None and high is None:
        return ""
    if low is None:
        return f"at most {high:g}"
    if high is None:
        return f"{low:g} or more"
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"
