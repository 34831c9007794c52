"""A category of a person's own over the tiny library, without a mistake; and every kind of mistake planted in it."""

MIRROR = """category = "mirror"
title = "Mirror"
into = ["build"]
places = ["left", "right"]
stage = "brakes"

[[specs]]
key = "fixing"
title = "How it is fixed"
kind = "choice"
choices = { band = "a band", plug = "a plug" }
measure = "Look at its foot."

[[specs]]
key = "clamp_mm"
title = "Bar it clamps"
kind = "number"
low = 20
high = 35
measure = "Calliper across it."
basis = "common practice"

[[specs]]
key = "clamp_most_mm"
title = "Thickest bar it clamps"
kind = "number"
measure = "Calliper across it, open."

[[fastenings]]
key = "band"
title = "Mirror band"
between = ["mirror", "fork"]
low_nm = 1
high_nm = 2
basis = "common practice"

[[joins]]
key = "mount"
title = "Mirror and mount"
with = ["fork"]
meets_if = [
  { mine = "fixing", is = "in", than = ["band", "plug"] },
]
say = "It is {mine}."
basis = "common practice"

[[used]]
key = "look"
title = "Look it over"
text = "Turn it."
minutes = 1

[[steps]]
key = "fit"
title = "Fit the {side} mirror"
text = "Glass upright."
fits = true
needs = ["position-set"]
tools = ["hex:4"]
fastenings = ["band"]
minutes = 4

[[steps]]
key = "close"
title = "Close the band"
text = "Firmly."
one_of = "fixing"
when = { fixing = "band" }
minutes = 1

[[steps]]
key = "spread"
title = "Spread the plug"
text = "Firmly."
one_of = "fixing"
when = { fixing = "plug" }
minutes = 1

[[steps]]
key = "hold"
title = "Look at the mirror"
text = "It stays."
jobs = ["service"]
records = [
  { into = "wear:play_mm", title = "Play" },
]
minutes = 1

[[tasks]]
key = "hold-it"
title = "Mirror"
every = { days = 365 }
steps = ["hold"]
weight = "comfort"
basis = "common practice"

[[wear]]
key = "play_mm"
title = "Play"
direction = "grows"
new = 0
measure = "Shake it."
basis = "common practice"
limits = [
  { action = "replace", value = 3, basis = "common practice" },
]
"""

Planted = tuple[str, str, str, str]
"""What stood there, what was planted, the line it must be reported on (its text), words of the report."""

FIT = "minutes = 4\n"
PLACES = ",".join(f'"p{number}"' for number in range(99))
MANY = ",".join(f'"c{number}"' for number in range(500))
DEEP = "{ not = " * 40 + '{ origin = "new" }' + " }" * 40

MISTAKES: dict[str, Planted] = {
    "a title that is a list": ('title = "Mirror"\n', 'title = ["Mirror"]\n', "title = [", "should be words in quotes"),
    "an into that is no list": ('into = ["build"]', 'into = "build"', 'into = "build"', "should be a list"),
    "a table where a list belongs": (FIT, FIT + "after = {}\n", "after = {}", "should be a list"),
    "words where a table belongs": (FIT, FIT + 'when = "new"\n', 'when = "new"', "should be a table"),
    "an unknown key": (FIT, FIT + "minuets = 4\n", "minuets = 4", "did you mean `minutes`"),
    "an unknown table": ("[[wear]]", "[[waer]]", "[[waer]]", "unknown key"),
    "a missing key": ('text = "Glass upright."\n', "", 'key = "fit"', "the key `text` is missing"),
    "an infinite number": (FIT, "minutes = inf\n", "minutes = inf", "finite number"),
    "a number that is none": ("low = 20", "low = nan", "low = nan", "finite number"),
    "a huge number": (FIT, "minutes = 99999999999999999999999\n", "minutes = 9", "at most 1,000,000,000"),
    "a number with endless digits": (FIT, f"minutes = {'9' * 5000}\n", "minutes = 9", "too many digits"),
    "digits parted by underscores": (FIT, f"minutes = 1{'_1' * 5000}\n", "minutes = 1", "too many digits"),
    "a huge number in a condition": (FIT, FIT + "when = { clamp_mm = { min = 1e300 } }\n", "when = ", "finite number"),
    "a negative time": (FIT, "minutes = -4\n", "minutes = -4", "at least 0"),
    "a torque of nothing": ("low_nm = 1", "low_nm = 0", "low_nm = 0", "above 0"),
    "a torque beyond any bolt": ("high_nm = 2", "high_nm = 9000", "high_nm = 9000", "at most 500"),
    "an interval of nothing": ("{ days = 365 }", "{ days = 0 }", "every = ", "at least 1"),
    "an empty title": ('title = "Mirror band"', 'title = ""', 'title = ""', "is empty"),
    "a blank text": ('text = "Glass upright."', 'text = "  "', 'text = "  "', "is empty"),
    "an empty key": ('key = "fit"', 'key = ""', 'key = ""', "is empty"),
    "a key without end": ('key = "fit"', f'key = "{"f" * 70}"', 'key = "fff', "at most 60 letters"),
    "an empty name of a key": (FIT, FIT + '"" = 1\n', '"" = 1', "no name that can be read"),
    "a text without end": ('"Glass upright."', f'"{"x" * 3000}"', 'text = "x', "has 3000 letters"),
    "a control character": ('"Glass upright."', '"Glass \\u001b[31m"', "Glass \\u001b", "cannot be shown, U+001B"),
    "a nul": ('"Glass upright."', '"Glass \\u0000"', "Glass \\u0000", "cannot be shown, U+0000"),
    "too many entries": ('into = ["build"]', f"into = [{MANY}]", "into = [", "500 entries"),
    "deep nesting": (FIT, FIT + f"when = {DEEP}\n", "when = { not", "more than 24 deep"),
    "nesting that no parser likes": (FIT, FIT + f"when = {'[' * 9000}{']' * 9000}\n", "when = [[", "more than 24 deep"),
    "a dotted key without end": (FIT, FIT + f"when{'.not' * 9000} = 1\n", "when.not", "more than 24 deep"),
    "a header without end": ("[[wear]]", f"[{'a.' * 9000}b]\n[[wear]]", "[a.a.", "more than 24 deep"),
    "any that is no list": (FIT, FIT + "when = { any = 5 }\n", "when = ", "should be a list of tables"),
    "not that is no table": (FIT, FIT + "when = { not = 5 }\n", "when = ", "should be a table"),
    "an empty any": (FIT, FIT + "when = { any = [] }\n", "when = ", "is empty"),
    "a fact that can be nothing": (FIT, FIT + "when = { fixing = [] }\n", "when = ", "is empty"),
    "a fact in a list in a list": (FIT, FIT + 'when = { fixing = [["band"]] }\n', "when = ", "fixing cannot be"),
    "a range upside down": (FIT, FIT + "when = { clamp_mm = { min = 30, under = 30 } }\n", "when = ", "no number lies"),
    "a join with a spec that is not there": ('mine = "fixing"', 'mine = "fixings"', "mine = ", "did you mean 'fixing'"),
    "a join that reads another's unknown spec": (
        'than = ["band", "plug"]',
        'theirs = "fork.nothing"',
        "theirs = ",
        "fork has no spec 'nothing'",
    ),
    "a join with a number as partner": ('than = ["band", "plug"]', "theirs = 5", "theirs = 5", "should name a fact"),
    "a join that adds words": ('than = ["band", "plug"]', 'than = "band", plus = "x"', "plus = ", "should be a number"),
    "a join of no tests": (
        '{ mine = "fixing", is = "in", than = ["band", "plug"] }',
        "{ any = [] }",
        "any = []",
        "the key `is` is missing",
    ),
    "a join of an unknown kind": ('is = "in"', 'is = "near"', 'is = "near"', "equal, not equal"),
    "takes of a step that does not exist": (
        'stage = "brakes"',
        'stage = "brakes"\ntakes = ["fork.nothing"]',
        "takes = ",
        "no step, look or fastening",
    ),
    "takes of a step that it has": (
        'stage = "brakes"',
        'stage = "brakes"\ntakes = ["mirror.fit"]',
        "takes = ",
        "there is a step 'fit' in this file already",
    ),
    "one step taken twice": (
        'stage = "brakes"',
        'stage = "brakes"\ntakes = ["fork.try", "fork.try"]',
        "takes = ",
        "'try' is taken twice",
    ),
    "a role whose end no spec says": (
        'stage = "brakes"',
        'stage = "brakes"\nstands_in_for = { fork = "works" }',
        "stands_in_for = ",
        "no spec 'works'",
    ),
    "a cycle with the library's steps": (
        'needs = ["position-set"]',
        'needs = ["brake-set"]\ngives = ["frame-inspected"]',
        'needs = ["brake-set"]',
        "cycle 1: mirror.fit@left comes after",
    ),
    "a step after itself": (FIT, FIT + 'after = ["fit"]\n', 'after = ["fit"]', "cycle 1"),
    "a placeholder for nothing": ("Glass upright.", "Glass {0.__class__}", "Glass {0", "stands for nothing here"),
    "two fastenings of one condition": (
        "[[joins]]",
        '[[fastenings]]\nkey = "band"\ntitle = "B"\nbetween = ["fork"]\nfeel = "f"\nbasis = "from memory"\n[[joins]]',
        'key = "band"',
        "stands twice under the same `when`",
    ),
    "one record twice": (
        '  { into = "wear:play_mm", title = "Play" },\n',
        '  { into = "wear:play_mm", title = "Play" },\n  { into = "wear:play_mm", title = "Again" },\n',
        'title = "Again"',
        "asked for twice",
    ),
    "a record upside down": (
        'title = "Play" },',
        'title = "Play", low = 3, high = 1 },',
        "low = 3",
        "must not be above",
    ),
    "a part that goes into itself": ('into = ["build"]', 'into = ["mirror"]', 'into = ["mirror"]', "go into itself"),
    "a part that goes nowhere": ('into = ["build"]\n', "", 'category = "mirror"', "goes nowhere"),
    "a place that no id can hold": ('"left", "right"', '"left.a", "@"', "places = ", "should be spelt"),
    "places without end": (
        'places = ["left", "right"]',
        f"places = [{PLACES}]",
        "places = ",
        "more than 32 places",
    ),
    "a spec that means something else": ('key = "fixing"', 'key = "origin"', 'key = "origin"', "something else"),
    "a most that is not there": (
        "low = 20\n",
        'low = 20\nat_most = "clamp_max_mm"\n',
        "at_most = ",
        "no other spec 'clamp_max_mm'",
    ),
    "a most that is a choice": ("low = 20\n", 'low = 20\nat_most = "fixing"\n', "at_most = ", "only a number"),
    "a most of itself": ("low = 20\n", 'low = 20\nat_most = "clamp_mm"\n', "at_most = ", "no other spec"),
    "a mark that is not there": (
        "low = 20\n",
        'low = 20\nuntil_measured = "mark_mm"\n',
        "until_measured = ",
        "no other spec 'mark_mm'",
    ),
    "a mark that is a choice": (
        "low = 20\n",
        'low = 20\nuntil_measured = "fixing"\n',
        "until_measured = ",
        "only a number stands for another",
    ),
    "a fact in a join's words that nobody has": (
        "It is {mine}.",
        "It is {bore_mm}.",
        "{bore_mm}",
        "stands for nothing here",
    ),
    "a test that is known half": (
        'than = ["band", "plug"] }',
        'than = ["band", "plug"], if_known = "no" }',
        "if_known",
        "true or false",
    ),
}

WARNINGS: dict[str, Planted] = {
    "a stand-in that hides the safety steps": (
        'places = ["left", "right"]\nstage = "brakes"',
        'places = ["front", "rear"]\nstands_in_for = ["cable-disc-caliper"]\nstage = "brakes"',
        "stands_in_for = ",
        "it has no safety step, where a cable-disc-caliper has tighten",
    ),
}
