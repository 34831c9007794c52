"""A browser without scripts: reads pages as a parser sees them, fills forms in and sends them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

import httpx

VOID = frozenset({"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"})
UNSENT = frozenset({"submit", "button", "image", "reset"})


@dataclass
class Element:
    """An element with what is written in it."""

    tag: str
    attributes: dict[str, str]
    text: str = ""


@dataclass
class PageForm:
    """A form with what it would send: every field by name, and the buttons that can send it."""

    action: str
    method: str
    fields: dict[str, list[str]] = field(default_factory=dict)
    names: set[str] = field(default_factory=set)


class Page(HTMLParser):
    """A parsed page; fails on tags that do not close as they opened."""

    def __init__(self, answer: httpx.Response) -> None:
        super().__init__(convert_charrefs=True)
        self.answer = answer
        self.status = answer.status_code
        self.source = answer.text
        self.path = answer.request.url.raw_path.decode()
        self.elements: list[Element] = []
        self.forms: list[PageForm] = []
        self._open: list[Element] = []
        self._select: tuple[str, bool] | None = None
        self._area: str | None = None
        self.feed(answer.text)
        self.close()
        assert self._open == [], f"{self.path}: left open {[each.tag for each in self._open]}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        attributes = {name: value or "" for name, value in attrs}
        assert len(attributes) == len(attrs), f"{self.path}: an attribute twice in {attrs}"
        element = Element(tag, attributes)
        self.elements.append(element)
        if tag not in VOID:
            self._open.append(element)
        if tag == "form":
            self.forms.append(PageForm(attributes.get("action", ""), attributes.get("method", "get")))
        elif any(each.tag == "form" for each in self._open):
            self._field(tag, attributes)

    def _field(self, tag: str, attributes: dict[str, str]) -> None:
        form, name = self.forms[-1], attributes.get("name", "")
        if name and tag in ("input", "select", "textarea", "button"):
            form.names.add(name)
        kind = attributes.get("type", "text")
        if tag == "input" and name and kind not in UNSENT and (
            kind not in ("radio", "checkbox") or "checked" in attributes
        ):  # fmt: skip
            form.fields.setdefault(name, []).append(attributes.get("value", "on" if kind == "checkbox" else ""))
        elif tag == "select":
            self._select = (name, False)
        elif tag == "option" and self._select is not None:
            chosen, found = self._select
            if "selected" in attributes or not found:
                form.fields[chosen] = [attributes.get("value", "\n")]
                self._select = (chosen, True)
        elif tag == "textarea":
            self._area = name
            form.fields[name] = [""]

    def handle_data(self, data: str) -> None:
        for element in self._open:
            element.text += data
        if self._area is not None:
            self.forms[-1].fields[self._area][0] += data
        if self._select is not None and self.forms[-1].fields.get(self._select[0]) == ["\n"]:
            self.forms[-1].fields[self._select[0]] = [data]

    def handle_endtag(self, tag: str) -> None:
        opened = self._open.pop()
        assert opened.tag == tag, f"{self.path}: {opened.tag} closed as {tag}"
        if tag == "select":
            self._select = None
        if tag == "textarea":
            self._area = None

    def all(self, tag: str, **attributes: str) -> list[Element]:
        """Every element of this tag with these attributes."""
        wanted = {name.rstrip("_").replace("_", "-"): value for name, value in attributes.items()}
        return [e for e in self.elements if e.tag == tag and wanted.items() <= e.attributes.items()]

    def text_of(self, tag: str, **attributes: str) -> str:
        """What is written in the first such element, in one line."""
        return " ".join(self.all(tag, **attributes)[0].text.split())

    @property
    def main(self) -> str:
        """What the page says, in one line."""
        return self.text_of("main")

    def form(self, action: str, **holding: str) -> PageForm:
        """The form that sends there and holds these values."""
        found = [
            form
            for form in self.forms
            if form.action == action and all(form.fields.get(name) == [value] for name, value in holding.items())
        ]
        assert found, f"{self.path} has no form to {action}, only {[each.action for each in self.forms]}"
        return found[0]

    def links(self) -> list[str]:
        """Where the page leads."""
        return [each.attributes["href"] for each in self.all("a") if "href" in each.attributes]


class Browser:
    """Somebody signed in with a cookie, without scripts."""

    def __init__(self, address: str, secret: str) -> None:
        self.address = address
        self.client = httpx.Client(
            base_url=address,
            cookies={"locknut": secret},
            headers={"Origin": address},
            verify=False,
            follow_redirects=True,
            timeout=60,
        )

    def open(self, path: str, status: int = 200) -> Page:
        """The page at an address."""
        answer = self.client.get(path)
        assert answer.status_code == status, f"{path}: {answer.status_code} {answer.text[-600:]}"
        return Page(answer)

    def send(self, form: PageForm, changes: Mapping[str, Any] | None = None, *, status: int = 200) -> Page:
        """What a form leads to, filled in further; every field that is filled in must be there."""
        sent: dict[str, Any] = {**form.fields}
        for name, value in (changes or {}).items():
            assert name in form.names, f"{form.action} has no field {name}"
            sent[name] = value
        assert form.method == "post"
        answer = self.client.post(form.action, data=sent)
        assert answer.status_code == status, f"{form.action}: {answer.status_code} {Page(answer).main}"
        return Page(answer)
