"""A second opinion on plans: is there an act in it that can hurt somebody?

Reads lines of JSON from standard input, one plan each:

    {"case": "...", "order": [step ids], "all": [step ids], "gates": [step ids],
     "known": ["window.hose-left", ...], "figures": {"rest-left": 23.0, ...},
     "problems": [...], "expect": "plan" | "named" | "stops" | "wrong" | "unknown", "about": "..."}

and one first that says how many cars were drawn:

    {"drawn": 500, "judged": 500, "why": {}}

It knows what each step of the demo's car file does from the table below, and of the methods that
come with the program from METHODS, all
written by hand from the words of the steps. It never reads what the car file says a step does. A step id that is not in the
table fails. The rules are common practice, no source.

"plan" is to have all its steps and reach the wheels, "named" to say what is wrong, "stops" to stop
at the step that was left out. "wrong" was made by a builder with a safeguard less: here a plan in
which nothing is found is the fault, and the judge's own.

Prints what it counted; ends with 1 if a plan holds a forbidden act, lacks a step, does not reach
the wheels, or lets a step be done that has to wait.
"""

import collections
import json
import sys

# What the hands do, side by side with the id. "car" acts are those of the whole car.
TABLE = {
    "load-state": "roll", "ride-first": "floor", "angles-first": "floor", "marks": "",
    "tooth-marks": "", "hub-nuts-loose": "floor", "car-up": "up", "droop-first": "",
    "lines-off": "-hose -cable open-brakes", "half-shaft-off": "-shaft",
    "damper-off": "prop -damper unprop", "stop-bolt-off": "prop jack tie -bolt",
    "unload-bar": "untie lower hangs? unprop", "arm-off": "-arm free?",
    "bar-out": "-cover -plate -bar", "engine-out": "-engine",
    "bar-check": "", "anchor-check": "", "plate-check": "", "arms-compare": "", "hubs-built": "",
    "dampers-check": "", "hard-bolts": "", "plated-bolts": "", "verdicts": "", "stick-made": "",
    "dry-on": "+arm +plate +cover", "dry-swing": "swing", "pivot-torque": "swing",
    "dry-off": "-arm -cover -plate",
    "seats-clean": "", "bush-dry": "", "bush-grease": "", "bar-in": "+bar", "plate-on": "+plate",
    "cover-snug": "+cover", "plate-read": "", "plates-compare": "compare",
    "cover-torque": "tight-cover", "arm-on": "+arm", "arm-torque": "tight-plate", "ballast": "ballast",
    "stop-bolt-in": "prop wind +bolt tight-bolt lower unprop", "damper-top-on": "",
    "damper-bottom-on": "+damper", "corner-torque": "", "engine-in": "+engine",
    "half-shaft-in": "+shaft", "shoes-on": "", "hose-on": "+hose", "cable-on": "+cable",
    "run-check": "prop jack lower unprop", "fluid-in": "", "bleed": "", "handbrake-set": "",
    "brakes-proven": "prove", "weight-in": "", "last-look": "", "wheels-down": "down",
    "hub-nut-torque": "floor", "settle": "roll", "corner-read": "floor", "round-one": "",
    "align": "floor roll", "first-road": "roll", "check-100": "roll", "check-1000": "roll",
    "handover": "",
}

# The phase each id belongs to, by number; steps of one side follow it.
PHASES = [
    "load-state ride-first angles-first marks tooth-marks hub-nuts-loose car-up droop-first",
    "lines-off half-shaft-off damper-off stop-bolt-off unload-bar arm-off bar-out engine-out",
    "bar-check anchor-check plate-check arms-compare hubs-built dampers-check hard-bolts "
    "plated-bolts verdicts",
    "stick-made dry-on dry-swing pivot-torque dry-off",
    "seats-clean bush-dry bush-grease bar-in plate-on cover-snug plate-read plates-compare "
    "cover-torque arm-on arm-torque ballast stop-bolt-in damper-top-on damper-bottom-on "
    "corner-torque engine-in half-shaft-in",
    "shoes-on hose-on cable-on run-check fluid-in bleed handbrake-set",
    "brakes-proven weight-in last-look wheels-down hub-nut-torque settle corner-read round-one "
    "align",
    "first-road check-100 check-1000 handover",
]
ASSEMBLY = 4
PHASE = {name: at for at, names in enumerate(PHASES) for name in names.split()}

# The steps of the methods in the program: what they do where that is not what TABLE says of the id,
# and the phase of ids that are not in PHASES. "roll-bar" is the anti-roll bar's links.
METHODS = {"trailing-arm": {
    "acts": {
        "make-safe": "", "wheel-off": "wheel-off", "stand-check": "", "roll-bar-off": "-link",
        "holds-on": "prop", "damper-off": "-damper", "stop-bolt-off": "jack -bolt",
        "unload-bar": "lower hangs? unprop", "arm-off": "-arm", "plate-wags": "free?",
        "cover-off": "-cover", "plate-off": "-plate", "bar-out": "-bar", "masks-on": "",
        "shell-away": "away", "to-stands": "back", "holds-ready": "prop",
        "stop-bolt-in": "wind +bolt tight-bolt lower", "damper-bottom-on": "+damper unprop",
        "roll-bar-on": "+link", "bleed-front": "", "wheel-on": "wheel-on",
        "wheel-nut-torque": "floor", "roll-bar-torque": "floor", "wheel-nuts-again": "floor",
        "engine-in": "+engine",
    },
    # The damper is what stops the arm.
    "no bolt": {
        "damper-off": "jack -damper", "damper-bottom-on": "wind +damper lower unprop",
    },
    "phases": {
        "make-safe": 0, "wheel-off": 0, "stand-check": 1, "roll-bar-off": 1, "holds-on": 1,
        "plate-wags": 1, "cover-off": 1, "plate-off": 1, "masks-on": 2, "shell-away": 2,
        "to-stands": 4, "holds-ready": 4, "roll-bar-on": 5, "bleed-front": 5, "wheel-on": 6,
        "wheel-nut-torque": 6, "roll-bar-torque": 6, "wheel-nuts-again": 7,
    },
}}
# Whoever signs these has looked: each is in every plan of a method.
SIGNED = ["car-up", "holds-on", "plate-wags", "plates-compare", "holds-ready", "last-look",
          "hub-nut-torque", "brakes-proven", "first-road"]

# Which finding has to be known before a step may be done without looking.
NEEDS = {
    "damper-bottom-on": ["window.damper", "droop"],
    "half-shaft-in": ["window.half-shaft", "droop"],
    "hose-on": ["window.hose", "droop"],
    "cable-on": ["window.cable", "droop"],
    "stop-bolt-in": ["index.choices"],
}

# What each of these steps puts on, as the figures name it.
SPANS = {"damper-bottom-on": "damper", "half-shaft-in": "half-shaft", "hose-on": "hose",
         "cable-on": "cable"}
# More than this over each rear stand is not asked of a shell.
MOST_KG = 100

# Acts without which what follows cannot be done: a step with one of them may not be missing.
CHANGES = {"up", "down", "prop", "lower", "hangs?", "free?", "compare", "prove",
           "-hose", "-cable", "-shaft", "-damper", "-bolt", "-arm", "-cover", "-plate", "-bar",
           "+bar", "+plate", "+cover", "+arm", "+bolt", "+damper", "+shaft", "+hose", "+cable",
           "tight-cover", "tight-plate", "tight-bolt", "ballast"}

REACHING = ("damper", "shaft", "hose", "cable")


class Side:
    def __init__(self):
        self.load = "wound"  # wound, hanging, free, out
        self.held = "wheel"  # wheel, stop, jack, nothing
        self.props = self.tied = False
        self.watched = True  # whether it moved under watch since something was fitted
        self.on = set(REACHING) | {"bolt", "arm", "plate", "cover"}
        self.loose = set()
        self.reaching = set(REACHING)
        self.phase = 0


def base(step):
    for side in ("left", "right"):
        if step.endswith("-" + side):
            return step[: -len(side) - 1], [side]
    return step, ["left", "right"]


class Car:
    def __init__(self, plan):
        self.sides = {"left": Side(), "right": Side()}
        self.table, self.phases = TABLE, PHASE
        self.away = self.links = False
        self.wheels = set()  # of a method: those that are off
        self.has_bolt = True
        if plan.get("method"):
            self.follow(METHODS[plan["method"]], {base(step)[0] for step in plan["all"]})
        self.stands = self.brakes_open = self.compared = False
        self.weight, self.loaded = True, False  # whether the stands have it; and were given it
        self.phase = 0
        self.wrong = []

    def follow(self, method, names):
        """A method, as its answers left it: what no step takes off is not on the car."""
        self.table = {**TABLE, **method["acts"]}
        self.phases = {**PHASE, **method["phases"]}
        self.has_bolt = "stop-bolt-off" in names
        self.links = "roll-bar-off" in names
        for side in self.sides.values():
            if not self.has_bolt:
                self.table = {**self.table, **method["no bolt"]}
                side.on.discard("bolt")
            if "half-shaft-off" not in names:
                side.on.discard("shaft")
            if "cable-on" not in names:
                side.on.discard("cable")
                self.table["lines-off"] = "-hose open-brakes"
            side.reaching = side.on & set(REACHING)

    def bad(self, rule, step, words):
        self.wrong.append((rule, step, words))

    def jacked(self, but=None):
        return any(s.held == "jack" and s.load == "wound"
                   for name, s in self.sides.items() if name != but)

    def step(self, step):
        name, names = base(step)
        if name not in self.table:
            self.bad(0, step, "an id that the judge does not know")
            return
        self.in_phase(step, name, names if len(names) == 1 else [])
        for act in self.table[name].split():
            self.whole(act, step)
            for one in names:
                self.one(act, step, one)

    def in_phase(self, step, name, names):
        phase = self.phases[name]
        sides = [self.sides[n] for n in names]
        if not names and phase == 0:
            sides = list(self.sides.values())
        if phase < self.phase or any(phase < s.phase for s in sides):
            self.bad(6, step, "a phase before the one it follows")
        for s in sides:
            s.phase = max(s.phase, phase)
        if 6 <= phase:
            self.phase = max(self.phase, phase)

    def whole(self, act, step):
        if act in ("up", "down", "roll", "-engine", "+engine") and self.jacked():
            self.bad(8, step, "the body moves with an arm on a jack")
        if act == "up":
            self.stands = True
            for s in self.sides.values():
                s.held = "stop"
        elif act == "down":
            for name, s in self.sides.items():
                missing = {"bolt", "arm", "plate", "cover"} - s.on
                missing -= set() if self.has_bolt else {"bolt"}
                if not s.watched:
                    self.bad(3, step, f"{name}: down with nothing watched since parts went on")
                off = s.reaching - s.on
                if name in self.wheels:
                    self.bad(8, step, f"{name}: down with its wheel off")
                if off:
                    self.bad(3, step, f"{name}: down with {sorted(off)} off")
                if missing or s.loose or s.load == "out":
                    self.bad(8, step, f"{name}: down with {missing | s.loose} off or loose")
                s.held, s.load = "wheel", "wound"
            self.stands = False
        elif act == "roll":
            if self.stands:
                self.bad(6, step, "rolled on stands")
            if self.brakes_open:
                self.bad(8, step, "rolled before the brakes are proven")
        elif act == "floor" and self.stands:
            self.bad(6, step, "wheels down asked for on stands")
        elif act == "prove":
            if self.stands:
                self.bad(7, step, "pulled at on stands")
            self.brakes_open = False
        elif act == "open-brakes":
            self.brakes_open = True
        elif act == "compare":
            for name, s in self.sides.items():
                if "plate" not in s.on:
                    self.bad(4, step, f"{name}: teeth compared with no plate on")
            self.compared = True
        elif act == "wheel-off":
            self.wheels |= set(base(step)[1])
        elif act == "wheel-on":
            self.wheels -= set(base(step)[1])
        elif act in ("-link", "+link"):
            if any(s.held != "stop" for s in self.sides.values()):
                self.bad(2, step, "the anti-roll bar's links with an arm off its stop")
            self.links = act == "+link"
        elif act in ("away", "back"):
            self.away = act == "away"
            if any(s.load != "out" for s in self.sides.values()) and self.away:
                self.bad(8, step, "the body leaves its stands with a bar in")
        elif act in ("-engine", "+engine", "ballast"):
            if act == "-engine" and self.loaded:
                self.bad(4, step, "the engine comes out from under what was loaded for it")
            self.weight = act != "-engine"
            self.loaded = self.loaded or self.weight

    def one(self, act, step, name):
        s = self.sides[name]
        reaching = s.on & set(REACHING)
        bad = lambda rule, words: self.bad(rule, step, f"{name}: {words}")
        if act in ("prop", "jack", "wind") and self.jacked(but=name):
            bad(8, "a jack under the second arm")
        if act in ("prop", "jack", "wind") and not self.stands:
            bad(8, "jacked off its stands")
        if act in ("prop", "jack", "wind") and self.away:
            bad(8, "an arm jacked on something that rolls")
        if act in ("jack", "wind") and self.links:
            bad(3, "one arm raised with the anti-roll bar linked to both")
        if act in ("jack", "wind", "lower") and not s.props:
            bad(2, "the arm moves without a second hold")
        if act == "prop":
            s.props = True
        elif act == "unprop":
            if s.held == "jack" and s.load == "wound":
                bad(2, "the hold goes while the jack carries a wound bar")
            s.props = False
        elif act in ("jack", "wind"):
            if s.load == "hanging":
                if not self.weight:
                    bad(4, "wound with neither engine nor ballast on the stands")
                if not self.compared:
                    bad(4, "wound before the teeth are compared")
                if {"cover", "plate"} & s.loose:
                    bad(4, "wound with cover or plate loose")
                if reaching:
                    bad(3, f"wound from hang with {sorted(reaching)} on")
            if s.load in ("free", "out") or "arm" not in s.on:
                bad(4, "wound without an arm")
            s.held, s.load = "jack", "wound"
        elif act == "lower":
            s.watched = s.props
            if "bolt" in s.on or not self.has_bolt and "damper" in s.on:
                s.held = "stop"
            else:
                if reaching:
                    bad(3, f"let down to hang with {sorted(reaching)} on")
                s.held, s.load = "nothing", "hanging"
        elif act == "tie":
            s.tied = True
        elif act == "untie":
            s.tied = False
        elif act == "hangs?" and (s.tied or s.held == "stop" or s.load != "hanging"):
            bad(1, "it cannot be found hanging")
        elif act == "free?":
            if s.load == "hanging" and "arm" not in s.on and not s.tied:
                s.load = "free"
            elif s.load != "out":
                bad(1, "it cannot be found free")
        elif act == "swing":
            if s.load == "wound":
                bad(2, "swung with the bar wound")
            if not {"arm", "plate", "cover"} <= s.on:
                bad(2, "swung with nothing that carries the arm")
        elif act.startswith("-"):
            self.off(act[1:], step, s, bad)
        elif act.startswith("+"):
            self.add(act[1:], s, bad)
        elif act.startswith("tight-"):
            what = act[6:]
            if what == "cover" and (s.load not in ("free", "out") or "arm" in s.on):
                bad(5, "the cover tightened with a load on the bar")
            if what == "bolt" and s.held != "jack":
                bad(5, "the stop bolt tightened with the plate leaning on it")
            if what not in s.on or what == "plate" and "arm" not in s.on:
                bad(5, f"{what} tightened before it is on")
            s.loose.discard(what)

    def off(self, what, step, s, bad):
        if what in ("plate", "cover", "arm") and what not in s.on:
            bad(1, f"{what} off that is not on")
        if what in ("cover", "plate", "bar") and s.load not in ("free", "out"):
            bad(1, f"{what} moved, the bar not found free")
        if what == "arm" and s.load == "wound":
            bad(1, "the arm drawn from a wound bar")
        if what in REACHING + ("bolt",) and s.held == "wheel":
            bad(2, f"{what} off with the car on its wheels")
        if what in ("hose", "cable", "shaft") and s.load == "wound" and "damper" not in s.on:
            bad(2, f"hands at the {what} with nothing but the stop under the arm")
        if what in ("bolt", "damper") and s.load == "wound" and not s.props:
            bad(2, f"{what} out without a second hold")
        if s.load == "wound" and (what == "bolt" or what == "damper" and not self.has_bolt):
            if s.held != "jack":
                bad(2, "the stop bolt out under load")
            if s.on & set(REACHING) - {what}:
                bad(3, f"the stop out with {sorted(s.on & set(REACHING) - {what})} on")
        if what == "bar":
            s.load = "out"
            return
        s.on.discard(what)
        if what in ("cover", "bolt"):
            s.loose.add(what)
        if what == "arm":
            s.loose.add("plate")

    def add(self, what, s, bad):
        if what == "bar":
            if s.on & {"plate", "cover"}:
                bad(1, "the bar does not pass plate and cover")
            s.load = "free"
            return
        if what == "bolt" and not (s.held == "jack" and s.props):
            bad(2, "the stop bolt in without jack and second hold")
        if what == "damper" and not self.has_bolt:
            if not (s.held == "jack" and s.props):
                bad(2, "the damper that stops the arm in without jack and second hold")
        elif what in REACHING and s.held != "stop":
            bad(3, f"{what} on before the arm rests on its stop")
        if what == "plate" and s.load == "out" and s.phase == ASSEMBLY:
            bad(1, "the plate on with no bar in")
        if what == "cover" and "plate" not in s.on:
            bad(1, "the cover on before the plate")
        if what == "arm" and "plate" not in s.on and s.phase == ASSEMBLY:
            bad(1, "the arm joined to a plate that is not on")
        if what in REACHING:
            s.watched = False
        s.on.add(what)
        if what == "arm" and s.load == "free":
            s.load, s.held = "hanging", "nothing"
        if what == "plate" and s.load != "out":
            self.compared = False


def judge(plan):
    """Everything wrong with a plan: rule, step, words. Rule 0: it is no plan, or no case."""
    car = Car(plan)
    for step in plan["order"]:
        car.step(step)
    wrong = list(car.wrong)
    wrong.extend(ungated(plan))
    if plan.get("method"):
        there = {base(step)[0] for step in plan["order"]}
        wrong.extend((0, step, "signed in no plan") for step in SIGNED if step not in there)
        if car.links is False and "roll-bar-off" in there:
            wrong.append((3, "-", "the anti-roll bar stays off"))
    expect = plan["expect"]
    if expect == "wrong":
        # A safeguard is missing: here the judge has to find an act, or a step not barred; of an
        # arc, at one of the two steps that it keeps in order.
        at = plan["about"].split()
        if any(rule and (not at or step in at) for rule, step, _ in wrong):
            return []
        return [(0, "-", f"a safeguard is missing, and nothing is found: {plan['problems'][:1]}")]
    if expect == "held":
        return [(0, "-", "an arc that cannot be tried on its own")]
    if expect == "unknown":
        # A step with a name of its own: nobody knows what it does.
        if any("does not know" in words for _, _, words in wrong):
            return []
        return [(0, "-", "a step that nobody knows, and nothing is found")]
    named = plan["problems"]
    missing = set(plan["all"]) - set(plan["order"])
    if expect == "named":
        return [] if named else [(0, "-", "nothing is named and no plan stops")]
    if expect == "stops":
        name = base(plan["about"])[0]
        # Nothing that comes later rests on what the dry run puts on, nor on where the car ends.
        needed = CHANGES & set(TABLE[name].split()) and name != "dry-on"
        if PHASE[name] < PHASE["wheels-down"] and "wheels-down" in plan["order"]:
            named = named and not needed
        if needed and not (named and missing):
            wrong.append((0, "-", "a step is left out, and the plan goes on to the wheels"))
        if named and not any("no step like this" in words for words in named):
            wrong.append((0, "-", f"it is not the step that is named: {named[0]}"))
        if not needed and not named and missing:
            wrong.append((0, "-", f"{len(missing)} steps missing, and nothing is named"))
    else:
        if missing:
            wrong.append((0, "-", f"{len(missing)} steps missing: {sorted(missing)[:3]} {named[:1]}"))
        if car.stands or "wheels-down" not in plan["order"]:
            wrong.append((0, "-", "it does not reach the wheels"))
    return wrong


def ungated(plan):
    """Steps that may be done though something they need is not known, or is known not to hold."""
    wrong, figures = [], plan["figures"]
    for step in plan["order"]:
        if step in plan["gates"]:
            continue
        name, sides = base(step)
        for side in sides:
            for need in NEEDS.get(name, []):
                known = f"{need}-{side}" in plan["known"]
                if need == "index.choices" and f"screw-{side}" in plan["known"]:
                    known = True
                if not known:
                    wrong.append((3, step, f"may be done though {need} is not known"))
            to = figures.get(f"to-{SPANS.get(name, '')}-{side}")
            rest = figures.get(f"rest-{side}")
            if name in SPANS and rest is None:
                wrong.append((3, step, "may be done though nobody knows where the arm rests"))
            if to is not None and rest is not None and to < rest - 0.01:
                wrong.append((3, step, f"may be done: it ends at {to:.1f}, the arm at {rest:.1f}"))
            if name == "stop-bolt-in" and MOST_KG < figures.get(f"ballast-{side}", 0):
                wrong.append((4, step, "may be done: the stands do not bear it"))
    return wrong


def main():
    count = collections.Counter()
    for line in sys.stdin:
        plan = json.loads(line)
        if "drawn" in plan:
            drawn(plan, count)
            continue
        wrong = judge(plan)
        kind = plan["case"].split(":")[0]
        count[f"{kind}: cases"] += 1
        count[f"{kind}: gated steps"] += len(set(plan["gates"]))
        if plan["expect"] == "wrong":
            print("MISSED " if wrong else "found  ", plan["case"])
        if wrong:
            count["wrong plans"] += 1
            rule, step, words = wrong[0]
            print(f"WRONG {plan['case']}: rule {rule}, {step}: {words}; {len(wrong)} in all")
    for key, many in sorted(count.items()):
        print(f"{key}: {many}")
    print(f"wrong plans: {count['wrong plans']}")
    if not any(key.endswith("cases") for key in count):
        print("no plan was given")
        sys.exit(1)
    sys.exit(1 if count["wrong plans"] else 0)


def drawn(head, count):
    """How many cars were drawn and how many of them cannot be read."""
    out = head["drawn"] - head["judged"]
    print(f"invented cars: {head['drawn']} drawn, {out} dropped, {head['judged']} judged")
    for why, many in sorted(head["why"].items(), key=lambda row: -row[1]):
        print(f"  dropped {many}: {why}")
    if 0.05 * head["drawn"] < out:
        print("WRONG more than 5 in 100 of the invented cars cannot be read")
        count["wrong plans"] += 1


main()
