"""The bench of the club: its torque wrenches and tools; no press, no tap, no facing tool."""

from service.demo.scene import Scene
from service.records import bench
from service.schemas.bench import WrenchSent

TOOLS = (
    *("hex:2", "hex:2.5", "hex:3", "hex:4", "hex:5", "hex:6", "hex:8", "hex-set", "six-lobe:25"),
    *("spanner:8", "spanner:9", "spanner:10", "spanner:13", "spanner:14", "spanner:15", "spanner:17"),
    *("cone-spanner:13", "cone-spanner:15", "cone-spanner:17", "pedal-spanner", "spanner-large"),
    *("screwdriver-flat:3", "screwdriver-flat:5", "screwdriver-cross:1", "screwdriver-cross:2"),
    *("torque-wrench", "calliper", "micrometer", "steel-rule", "tape-measure", "straight-edge", "spirit-level"),
    *("angle-gauge", "plumb-line", "string", "scale", "feeler-gauge", "repair-stand", "parts-tray", "lamp"),
    *("magnifier", "pick", "brush", "mallet", "vice", "scissors", "paint-pen", "strap", "tape"),
    *("spray-lance", "flat-file", "half-round-file", "sandpaper", "saw-guide", "hacksaw", "tap:m5", "tap:m6"),
    *("star-nut-setter", "hanger-gauge", "bb-tool:20-spline", "bb-tool:16-notch", "crank-extractor"),
    *("preload-cap-tool", "chainring-nut-key", "chain-breaker", "link-pliers", "chain-checker", "ring-gauge"),
    *("chain-whip", "cassette-lockring-tool", "rotor-fork", "dial-gauge", "spoke-key:3.2", "spoke-key:3.3"),
    *("spoke-ruler", "nipple-driver", "truing-stand", "dish-gauge", "tension-meter", "tyre-lever"),
    *("pump-with-gauge", "tank-pump", "valve-core-tool", "sealant-syringe", "sealant-dipstick", "cable-cutter"),
)


def set_up_bench(scene: Scene) -> None:
    """Enters wrenches and tools."""
    with scene.action():
        for tool in TOOLS:
            bench.own_tool(scene.session, scene.who, tool, scene.library)
        for title, low_nm, high_nm, ago in (("Small wrench", 2, 24, 40), ("Large wrench", 20, 110, 400)):
            sent = WrenchSent(
                title=title, low_nm=low_nm, high_nm=high_nm, tolerance_percent=4, checked_on=scene.day(ago)
            )
            bench.add_wrench(scene.session, scene.who, sent)
