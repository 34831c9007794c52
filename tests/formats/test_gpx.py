"""GPX files: real ones, broken ones, hostile ones; whatever is sent, the answer is points or a sentence."""

from collections.abc import Iterator
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.track import TrackPoint
from service.errors import Refusal, TooLarge
from service.formats import gpx
from service.formats.gpx import NAMESPACE, GpxReader, is_gpx, read_gpx

HEAD = f'<gpx version="1.1" creator="a receiver" xmlns="{NAMESPACE}">'
TWO = '<trkpt lat="47.5" lon="8.7"/><trkpt lat="47.6" lon="8.7"/>'


def track(points: str = TWO) -> str:
    return f"{HEAD}<trk><trkseg>{points}</trkseg></trk></gpx>"


def pieces(text: str | bytes, size: int = 7) -> Iterator[bytes]:
    data = text if isinstance(text, bytes) else text.encode()
    return (data[begin : begin + size] for begin in range(0, len(data), size))


def points(text: str | bytes, size: int = 7) -> list[TrackPoint]:
    return list(read_gpx(pieces(text, size)))


FULL = f"""<?xml version="1.0" encoding="UTF-8"?>
{HEAD}
<metadata><time>2001-01-01T00:00:00Z</time></metadata><wpt lat="1" lon="2"><ele>9</ele></wpt>
<trk><name>Round the hill</name>
<trkseg>
 <trkpt lat="47.5" lon="8.7"><ele>440.5</ele><time>2026-05-04T07:05:00Z</time>
  <extensions><x:hr xmlns:x="http://example.org/x">120</x:hr><ele>9999</ele></extensions></trkpt>
 <trkpt lat="-47.5" lon="-180"><time>2026-05-04T09:05:00.250+02:00</time></trkpt>
</trkseg><trkseg/><trkseg><trkpt lat="90" lon="179.999"><ele> 12 </ele></trkpt></trkseg></trk>
<rte><rtept lat="3" lon="4"/></rte></gpx>"""


@pytest.mark.parametrize("size", [1, 7, 100_000])
def test_points_of_tracks_are_read_and_nothing_else(size: int) -> None:
    found = points(FULL, size)
    assert [(each.segment, each.latitude, each.longitude, each.height_m) for each in found] == [
        (0, 47.5, 8.7, 440.5),
        (0, -47.5, -180.0, None),
        (2, 90.0, 179.999, 12.0),
    ]
    assert found[0].at is not None
    assert found[1].at is not None
    assert (found[1].at - found[0].at).total_seconds() == 0.25
    assert found[2].at is None


# bounds and required attributes: http://www.topografix.com/GPX/1/1/gpx.xsd
@pytest.mark.parametrize(
    ("point", "words"),
    [
        ('<trkpt lat="47" lon="180"/>', "lon is '180'; it should be from -180 to less than 180"),
        ('<trkpt lat="47" lon="-180.5"/>', "lon is"),
        ('<trkpt lat="90.1" lon="8"/>', "lat is '90.1'; it should be from -90 to 90"),
        ('<trkpt lat="NaN" lon="8"/>', "lat is 'NaN'"),
        ('<trkpt lat="47" lon="inf"/>', "lon is 'inf'"),
        ('<trkpt lat="4_7" lon="8"/>', "lat is '4_7'"),
        ('<trkpt lat="north" lon="8"/>', "lat is 'north'; it should be a number of degrees"),
        ('<trkpt lat="47" lon=""/>', "lon is ''"),
        ('<trkpt lat="47"/>', "has no lon"),
        ('<trkpt lon="8"/>', "has no lat"),
        ('<trkpt lat="47" lon="8"><ele>high</ele></trkpt>', "ele is 'high'"),
        ('<trkpt lat="47" lon="8"><ele>NaN</ele></trkpt>', "ele is 'NaN'"),
        ('<trkpt lat="47" lon="8"><time>noon</time></trkpt>', "time is 'noon'"),
        ('<trkpt lat="47" lon="8"><time>2026-05-04T09:30:00</time></trkpt>', "with its zone"),
        ('<trkpt lat="47" lon="8"><time>2026-05-04</time></trkpt>', "with its zone"),
    ],
)
def test_what_no_point_can_be_is_refused_and_the_point_is_named(point: str, words: str) -> None:
    with pytest.raises(Refusal) as refused:
        points(track(TWO + point))
    assert str(refused.value).startswith("Point 3 (segment 1)")
    assert words in str(refused.value)


def test_times_that_run_backwards_are_refused_and_equal_ones_are_not() -> None:
    def timed(*clock: str) -> str:
        each = '<trkpt lat="47" lon="8"><time>2026-05-04T09:{}Z</time></trkpt>'
        return track("".join(each.format(time) for time in clock))

    assert len(points(timed("30:00", "30:00"))) == 2
    with pytest.raises(Refusal, match=r"Point 2 .*no earlier than 2026-05-04T09:30:00"):
        points(timed("30:00", "29:59"))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "nothing in the file"),
        (track(""), "no point of a track"),
        (track('<trkpt lat="47" lon="8"/>'), "only one point"),
        (f'{HEAD}<wpt lat="1" lon="2"/><wpt lat="1" lon="2"/></gpx>', "no point of a track"),
        (track().replace("/1/1", "/1/0"), "it should begin with gpx in"),
        (track().replace(f' xmlns="{NAMESPACE}"', ""), "gpx in no namespace"),
        (track().replace('"1.1"', '"1.0"'), "version 1.0"),
        (track().replace(' version="1.1"', ""), "version nothing"),
        ("<html><body>404</body></html>", "begins with html"),
        ("not xml at all", "not well-formed XML"),
        ('{"lat": 47}', "not well-formed XML"),
        (track().replace("</trkseg>", ""), "mismatched tag in line 1"),
        ("<!DOCTYPE gpx><gpx/>", "DOCTYPE"),
        ('<!DOCTYPE gpx [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;&a;">]><gpx>&b;</gpx>', "DOCTYPE"),
        ('<!DOCTYPE gpx [<!ENTITY f SYSTEM "file:///etc/passwd">]><gpx>&f;</gpx>', "DOCTYPE"),
        (track(f"{TWO}&undefined;"), "not well-formed XML"),
        (track(f"{TWO}<extensions>{'<a>' * 80}{'</a>' * 80}</extensions>"), "nested over 64 deep"),
        (track(f'<trkpt lat="47" lon="8"><ele>{"1" * 80}</ele></trkpt>'), "over 64 characters"),
    ],
)
def test_a_file_that_is_no_track_is_refused_with_what_would_be_right(text: str, words: str) -> None:
    with pytest.raises(Refusal) as refused:
        points(text)
    assert words in str(refused.value)


def test_a_file_that_does_not_say_what_made_it_is_read_all_the_same() -> None:
    """The schema asks for a creator; nothing of a ride depends on it, and a rider cannot write one in."""
    assert len(points(track().replace(' creator="a receiver"', ""))) == 2


@pytest.mark.parametrize("mark", [b"\x1f\x8b\x08", b"PK\x03\x04", b"BZh9"])
def test_a_packed_file_is_told_to_be_unpacked(mark: bytes) -> None:
    with pytest.raises(Refusal, match="unpack it"):
        points(mark + bytes(100), 50)


@pytest.mark.parametrize("kept", range(1, 10))
def test_a_file_that_was_cut_short_is_refused(kept: int) -> None:
    text = FULL[: len(FULL) * kept // 10]
    with pytest.raises(Refusal, match=r"ends too early|only one point"):
        points(text)


def test_a_tag_that_never_ends_is_refused_before_it_fills_the_memory() -> None:
    reader = GpxReader()
    reader.feed(f"{HEAD}<trk name='".encode())
    reader.feed(b"x" * (gpx.LONGEST_TOKEN - gpx.PIECE))
    with pytest.raises(Refusal, match="one tag"):
        reader.feed(b"x" * 2 * gpx.PIECE)


def test_a_file_over_the_limit_is_too_large(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gpx, "LARGEST_BYTES", 3_000_000)  # the limit itself would take seconds to reach
    with pytest.raises(TooLarge, match="3 MB"):
        points(track(TWO + " " * 3_000_000), 65536)


def test_more_points_than_a_ride_has_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gpx, "MOST_POINTS", 3)
    with pytest.raises(Refusal, match="more than 3 points"):
        points(track(TWO * 2))


@given(st.binary(max_size=400))
def test_random_bytes_are_refused_and_raise_nothing_else(data: bytes) -> None:
    with pytest.raises(Refusal):
        points(data)


@given(st.integers(0, len(FULL) - 1), st.characters(codec="utf-8"))
def test_one_wrong_character_gives_points_or_a_sentence(at: int, other: str) -> None:
    found = None
    with suppress(Refusal):
        found = points(FULL[:at] + other + FULL[at + 1 :], 64)
    assert found is None or len(found) >= 2


@given(st.lists(st.tuples(st.floats(-90, 90), st.floats(-180, 179.999)), min_size=2, max_size=20), st.integers(1, 64))
def test_points_come_back_as_they_were_written_however_the_file_is_cut(
    places: list[tuple[float, float]], size: int
) -> None:
    written = "".join(f'<trkpt lat="{lat!r}" lon="{lon!r}"/>' for lat, lon in places)
    assert [(each.latitude, each.longitude) for each in points(track(written), size)] == places


def test_more_segments_than_a_ride_has_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gpx, "MOST_SEGMENTS", 3)
    assert len(points(track("</trkseg><trkseg>".join([TWO] * 3)))) == 6
    with pytest.raises(Refusal, match="more than 3 segments"):
        points(track("</trkseg><trkseg>".join([TWO] * 4)))


# by hand: three such heights, up and down again, come to more than a float holds
@pytest.mark.parametrize("height", ["1e308", "-1e308", "100001", "-12001"])
def test_a_height_that_is_on_no_ride_is_refused(height: str) -> None:
    with pytest.raises(Refusal, match=r"ele is .*; it should be from -12000 to 100000 metres"):
        points(track(f'<trkpt lat="1" lon="1"><ele>{height}</ele></trkpt>' * 2))


@pytest.mark.parametrize("written", ['lat="٣" lon="1"', 'lat="1" lon="1_0"', 'lat="1" lon="４"'])
def test_digits_that_xml_does_not_write_numbers_with_are_refused(written: str) -> None:
    with pytest.raises(Refusal, match="it should be from -"):
        points(track(f"<trkpt {written}/>" * 2))


@pytest.mark.parametrize(
    ("first", "name", "expected"),
    [
        (b"<?xml", "ride", True),
        (b"\xef\xbb\xbf\n <gpx", "ride.txt", True),
        (b"Date,km", "rides.csv", False),
        (b"\x1f\x8b", "ride.GPX", True),
        (b"PK\x03\x04", "rides.xlsx", False),
        (b"", "rides.csv", False),
    ],
)
def test_a_file_is_known_by_what_it_begins_with_and_else_by_its_name(first: bytes, name: str, expected: bool) -> None:
    assert is_gpx(first, name) == expected


@given(st.lists(st.tuples(st.integers(0, len(FULL)), st.binary(max_size=3)), max_size=8), st.integers(1, 64))
def test_random_edits_give_points_or_a_sentence(edits: list[tuple[int, bytes]], size: int) -> None:
    data = FULL.encode()
    for at, other in edits:
        data = data[:at] + other + data[at + 1 :]
    found = None
    with suppress(Refusal):
        found = points(data, size)
    assert found is None or len(found) >= 2


def test_ten_million_entities_within_each_other_are_refused_before_one_is_opened() -> None:
    """A bomb of ten levels of ten: the DOCTYPE that it needs is what is refused."""
    levels = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 8))
    with pytest.raises(Refusal, match="DOCTYPE"):
        points(f'<!DOCTYPE gpx [<!ENTITY e0 "x">{levels}]>{HEAD}&e7;</gpx>', 65536)
