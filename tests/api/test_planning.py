"""What is asked before buying: what if, side by side, what would fit, two chosen for one place, money."""

from typing import Any
from uuid import uuid4

import httpx
import pytest

from tests.api.others import member
from tests.api.words import API, ONE_DATABASE, build, fit, got, ok, part, plan, refused, specs
from tests.conftest import Served

pytestmark = ONE_DATABASE
EUR = "EUR"


def euros(amount: float, currency: str = EUR) -> dict[str, Any]:
    """A price."""
    return {"minor": round(amount * 100), "currency": currency}


class Framed:
    """A frame for posts of 27.2 mm with a post chosen, and what is asked about it."""

    def __init__(self, client: httpx.Client) -> None:
        self.client = client
        self.build = build(client)
        fit(client, self.build, part(client, "frame", "Grey frame", specs=specs(seatpost_mm=27.2), price=euros(200)))
        self.post = part(
            client, "seatpost", "Short post", specs=specs(diameter_mm=27.2), price=euros(20), mass_claimed_g=300.0
        )
        plan(client, self.build, self.post)

    def what_if(self, **sent: Any) -> httpx.Response:
        return self.client.post(f"{API}/builds/{self.build}/what-if", json=sent)

    def imagine(self, category: str = "seatpost", place: str | None = "", **sent: Any) -> httpx.Response:
        """What if there were such a part."""
        return self.what_if(parts=[{"category": category, **sent} | ({} if place is None else {"place": place})])


def answers(changes: list[dict[str, Any]]) -> dict[str, tuple[str | None, str | None]]:
    """How each changed join stood and would stand."""
    return {
        each["join"]: tuple(each[side] and each[side]["answer"] for side in ("before", "after")) for each in changes
    }


def test_a_part_that_does_not_exist_changes_findings_cost_and_mass_and_is_stored_nowhere(client: httpx.Client) -> None:
    on = Framed(client)
    known, journal = got(client, "/parts")["items"], got(client, "/journal", limit=200)["items"]
    thick = {"diameter_mm": {"number": 31.6}}
    told = ok(on.imagine(name="Thick post", specs=thick, price=euros(35.5), mass_g=280.0))
    assert answers(told["findings"])["seatpost.bore"] == ("meets", "conflicts")
    assert [each["name"] for each in told["after"]["on"]] == ["Thick post"]
    assert [each["name"] for each in told["after"]["off"]] == ["Short post"]
    # by hand: 200 for the frame and 20 for the post; then 35.50 in place of the 20, still to buy
    assert [told[side]["cost"]["total"]["minor"] for side in ("before", "after")] == [22000, 23550]
    assert [told[side]["cost"]["to_buy"]["minor"] for side in ("before", "after")] == [0, 3550]
    assert told["after"]["mass"]["mass_g"] - told["before"]["mass"]["mass_g"] == pytest.approx(-20.0)
    assert got(client, "/parts")["items"] == known
    assert got(client, "/journal", limit=200)["items"] == journal


def test_a_candidate_stands_beside_the_chosen_one_and_two_builds_side_by_side(client: httpx.Client) -> None:
    on = Framed(client)
    long = part(client, "seatpost", "Long post", specs=specs(diameter_mm=27.0), price=euros(12))
    plan(client, on.build, long, chosen=False)
    sides = [{"build": on.build, "chosen": [{"part": each}]} for each in (on.post, long)]
    told = ok(client.post(f"{API}/builds/compare", json={"sides": sides}))
    assert answers(told["findings"])["seatpost.bore"] == ("meets", "conflicts")
    assert [side["cost"]["total"]["minor"] for side in told["sides"]] == [22000, 21200]
    other = build(client, "Blue one")
    told = ok(client.post(f"{API}/builds/compare", json={"sides": [{"build": on.build}, {"build": other}]}))
    assert [side["name"] for side in told["sides"]] == ["Grey all-road", "Blue one"]
    assert answers(told["findings"])["seatpost.bore"] == ("meets", None)


def test_a_wheel_from_the_bin_brings_its_tyre(client: httpx.Client) -> None:
    on, wheel = build(client), part(client, "wheel", "Spare wheel")
    fit(client, on, part(client, "wheel", "Wheel"), "rear")
    other = build(client, "Donor")
    fit(client, other, wheel, "rear")
    fit(client, other, part(client, "tyre", "Its tyre", specs=specs(width_marked_mm=40)), "", into_part=wheel)
    told = ok(client.post(f"{API}/builds/{on}/what-if", json={"chosen": [{"part": wheel, "place": "rear"}]}))
    assert [each["name"] for each in told["after"]["on"]] == ["Spare wheel"]
    assert told["after"]["tyre_room"][1]["tyre"] == "Its tyre"
    assert told["before"]["tyre_room"][1]["tyre"] is None


RED, THICK = {"colour": {"words": "red"}}, {"diameter_mm": {"number": 90}}


@pytest.mark.parametrize(
    ("parts", "status", "pointer"),
    [
        ([], 422, ""),
        ([{"category": "wing", "place": ""}], 400, "/parts/0/category"),
        ([{"category": "stem", "place": "front"}], 400, "/parts/0/place"),
        ([{"category": "stem", "place": "", "price": euros(9, "CHF")}], 400, "/parts/0/price/currency"),
        ([{"category": "stem", "place": "", "specs": RED}], 400, "/parts/0/specs/colour"),
        ([{"category": "seatpost", "place": "", "specs": THICK}], 409, "/parts/0/specs/diameter_mm"),
        ([{"category": "stem", "place": ""}, {"category": "stem", "place": ""}], 400, "/parts/1/place"),
        ([{"category": "brake-pads", "place": "front"}], 400, "/parts/0/place"),
        ([{"category": "stem", "replaces": [str(uuid4())]}], 400, "/parts/0/replaces"),
    ],
)
def test_what_cannot_be_asked_names_the_field(client: httpx.Client, parts: Any, status: int, pointer: str) -> None:
    refused(Framed(client).what_if(parts=parts), status, pointer=pointer)


def test_in_a_comparison_the_field_stands_under_its_side(client: httpx.Client) -> None:
    on = Framed(client)
    wrong = {"build": on.build, "parts": [{"category": "stem", "place": "front"}]}
    answer = client.post(f"{API}/builds/compare", json={"sides": [{"build": on.build}, wrong]})
    refused(answer, 400, pointer="/sides/1/parts/0/place")
    refused(client.post(f"{API}/builds/compare", json={"sides": [{"build": on.build}]}), 422, pointer="/sides")
    gone = part(client, "seatpost", "Sold post", state="gone")
    refused(on.what_if(chosen=[{"part": gone, "place": ""}]), 409, "is gone", pointer="/chosen/0/part")
    refused(on.what_if(chosen=[{"part": str(uuid4()), "place": ""}]), 404, "There is no part")
    refused(on.imagine("stem", id=on.post), 400, "is a part already", pointer="/parts/0/id")
    twice = [{"part": on.post}, {"part": on.post, "place": ""}]
    refused(on.what_if(chosen=twice), 400, "twice", pointer="/chosen/1/part")


def test_two_chosen_for_one_place_is_refused_with_the_field(client: httpx.Client) -> None:
    on = build(client)
    plan(client, on, part(client, "brake-lever", "Plain lever", specs=specs(works_brake="front")), "left")
    both = part(client, "combined-lever", "Double lever", specs=specs(works_brake="front", works_gear="front"))
    answer = client.put(f"{API}/builds/{on}/plan/{both}", json={"place": "left"})
    refused(answer, 409, "Two parts would be chosen for one place", "Plain lever", pointer="/chosen")
    plan(client, on, both, "left", chosen=False)
    only_gears = part(client, "combined-lever", "Dead lever", specs=specs(works_brake="none", works_gear="front"))
    plan(client, on, only_gears, "left")
    answer = client.put(f"{API}/builds/{on}/plan/{only_gears}", json={"place": "left", "chosen": "yes"})
    refused(answer, 422, pointer="/chosen")


def test_a_price_in_another_currency_is_refused_with_the_field(client: httpx.Client) -> None:
    sent = {"category": "stem", "name": "Stem", "price": euros(9, "CHF")}
    refused(client.post(f"{API}/parts", json=sent), 400, "counts in EUR", pointer="/price/currency")


def test_parts_in_the_bin_that_would_meet_stand_first(client: httpx.Client) -> None:
    on = Framed(client)
    thick = part(client, "seatpost", "Thick", specs=specs(diameter_mm=31.6))
    unknown = part(client, "seatpost", "Unknown", specs=specs(material="aluminium"))
    right = part(client, "seatpost", "Right", specs=specs(diameter_mm=27.2))
    part(client, "seatpost", "Sold", specs=specs(diameter_mm=27.2), state="gone")
    elsewhere = part(client, "seatpost", "On another", specs=specs(diameter_mm=27.2))
    fit(client, build(client, "Other"), elsewhere)
    found = got(client, "/parts", fits=f"{on.build}:seatpost:")["items"]
    assert [each["id"] for each in found if each["id"] != on.post] == [right, unknown, thick]
    told = {each["id"]: each["fits"] for each in found}
    assert "conflicts" not in (told[right]["answer"], *told[right]["conflicts"])
    assert len(told[right]["measure"]) < len(told[unknown]["measure"])
    assert told[unknown]["answer"] == "not measured yet"
    assert any("diameter" in each.lower() for each in told[unknown]["measure"])
    assert told[thick]["answer"] == "conflicts"
    assert told[thick]["conflicts"] != []
    both = got(client, "/parts", fits=f"{on.build}:seatpost", **{"spec.diameter_mm": "31.6"})["items"]
    assert [each["id"] for each in both] == [thick]
    assert got(client, "/parts")["items"][0]["fits"] is None


@pytest.mark.parametrize(
    "fits", ["", "seatpost", "{build}:", "{build}:wing:", "{build}:seatpost:front", "{build}:brake-pads:rear"]
)
def test_a_place_that_is_not_there_is_refused(client: httpx.Client, fits: str) -> None:
    asked = fits.format(build=Framed(client).build)
    refused(client.get(f"{API}/parts", params={"fits": asked}), 400, pointer="/fits")


def test_pages_of_what_fits_leave_nobody_out(client: httpx.Client) -> None:
    on = Framed(client)
    sizes = (31.6, 27.2, 30.9)
    posts = {part(client, "seatpost", f"Post {size}", specs=specs(diameter_mm=size)) for size in sizes} | {on.post}
    seen: list[str] = []
    page = got(client, "/parts", fits=f"{on.build}:seatpost:", limit=3)
    while True:
        seen += [each["id"] for each in page["items"]]
        if page["next"] is None:
            break
        page = got(client, "/parts", fits=f"{on.build}:seatpost:", limit=3, cursor=page["next"])
    assert sorted(seen) == sorted(posts)


def test_a_fact_is_looked_for_with_its_give_and_a_wrong_one_is_refused(client: httpx.Client) -> None:
    post = part(client, "seatpost", "Post", specs=specs(diameter_mm=27.2, length_mm=350))
    frame = part(
        client, "frame", "Frame", specs={"freshly_painted": {"words": "yes"}, "bb_shell": {"words": "threaded_english"}}
    )

    def found(**facts: object) -> list[str]:
        return [
            each["id"]
            for each in got(client, "/parts", **{f"spec.{key}": worth for key, worth in facts.items()})["items"]
        ]

    assert found(diameter_mm="27.2", length_mm=350) == [post]
    assert found(diameter_mm="27.4") == []
    assert found(bb_shell="Threaded English") == found(freshly_painted="true") == [frame]
    refused(client.get(f"{API}/parts", params={"spec.colour": "red"}), 400, "no fact colour", pointer="/spec.colour")
    refused(
        client.get(f"{API}/parts", params={"spec.diameter_mm": "thin"}), 400, "a number", pointer="/spec.diameter_mm"
    )


def test_a_reader_is_told_everything_but_the_money(client: httpx.Client, service: Served) -> None:
    on = Framed(client)
    with service.client(member(service, "read")) as reader:
        asked = {"chosen": [{"part": on.post}]}
        told = ok(reader.post(f"{API}/builds/{on.build}/what-if", json=asked))
        assert told["before"]["cost"] is told["after"]["cost"] is None
        assert "22000" not in str(told)
        shopping = got(reader, f"/builds/{on.build}/shopping")
        assert shopping["price"] is None
