"""What the demo says when it is served: what to open first, and how to get a new sign-in link for it."""

import shlex
from pathlib import Path

from service.demo.scenario import First
from service.settings import Settings

PORT = 8417  # what a command uses that is told no port


def what_to_open(base: str, first: First) -> str:
    """The pages worth a look, said before the sign-in link."""
    return (
        f"Sign in with the link below, then open:\n  the job at the stand  {base}/checklists/{first.job_id}\n"
        f"  what is due           {base}/due\n  one part's life       {base}/parts/{first.part_id}"
    )


def another_link(chosen: Settings, port: int) -> str:
    """The command that makes another link, for a database that is not the usual one; said after the link."""
    # Another address than a file's may hold a password: that is not for a screen.
    url = chosen.database_url if chosen.database_url.startswith("sqlite") else "the address given with --database"
    variables = {"DATABASE_URL": url}
    if port != PORT:
        variables["PORT"] = str(port)
    if chosen.address:
        variables["ADDRESS"] = chosen.address
    given = " ".join(f"LOCKNUT_{name}={shlex.quote(value)}" for name, value in variables.items())
    return f"The link is used, or too old? While this runs, in another terminal:\n  {given} {command()} person link"


def command() -> str:
    """How the command line is called here: from a checkout by its script, else by its name."""
    checkout = Path(__file__).resolve().parents[2]
    return "scripts/locknut" if (checkout / "scripts/locknut").is_file() else "locknut"
