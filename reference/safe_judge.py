"""A second opinion on plans: is there an act in it that can hurt somebody?

Reads lines of JSON from standard input, one plan each:

    {"case": "...", "order": [step ids], "all": [step ids], "gates": [step ids],
     "known": ["window.hose-left", ...], "problems": [...], "expect": "plan" | "named"}

It knows what each step of the demo's method does from the table below, written by hand from the
words of the steps. It never reads what the car file says a step does. A step id that is not in the
table fails. The rules are common practice, no source.

Prints what it counted; ends with 1 if a plan holds a forbidden act, lacks a step, does not reach
the wheels, or lets a step be done that has to wait.
"""

import collections
import json
import sys

# What the hands do, side by side with the id. "car" acts are those of the whole car.
TABLE = {
    "load-state": "roll", "ride-first": "", "angles-first": "", "marks": "", "tooth-marks": "",
    "hub-nuts-loose": "", "car-up": "up", "droop-first": "",
    "lines-off": "-hose -cable open-brakes", "half-shaft-off": "-shaft",
    "damper-off": "prop -damper unprop", "stop-bolt-off": "prop jack tie -bolt",
    "unload-bar": "untie lower hangs? unprop", "arm-off": "-arm free?",
    "bar-out": "-cover -plate -bar", "engine-out": "engine",
    "bar-check": "", "anchor-check": "", "plate-check": "", "arms-compare": "", "hubs-built": "",
    "dampers-check": "", "hard-bolts": "", "plated-bolts": "", "verdicts": "", "stick-made": "",
    "dry-on": "+arm +plate +cover", "dry-swing": "swing", "pivot-torque": "swing",
    "dry-off": "-arm -cover -plate",
    "seats-clean": "", "bush-dry": "", "bush-grease": "", "bar-in": "+bar", "plate-on": "+plate",
    "cover-snug": "+cover", "plate-read": "", "plates-compare": "compare",
    "cover-torque": "tight-cover", "arm-on": "+arm", "arm-torque": "tight-plate", "ballast": "",
    "stop-bolt-in": "prop wind +bolt tight-bolt lower unprop", "damper-top-on": "",
    "damper-bottom-on": "+damper", "corner-torque": "", "engine-in": "engine",
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
PHASE = {name: at for at, names in enumerate(PHASES) for name in names.split()}

# Which finding has to be known before a step may be done without looking.
NEEDS = {
    "damper-bottom-on": ["window.damper", "droop"],
    "half-shaft-in": ["window.half-shaft", "droop"],
    "hose-on": ["window.hose", "droop"],
    "cable-on": ["window.cable", "droop"],
    "stop-bolt-in": ["index.choices"],
}

REACHING = ("damper", "shaft", "hose", "cable")


class Side:
    def __init__(self):
        self.load = "wound"  # wound, hanging, free, out
        self.held = "wheel"  # wheel, stop, jack, nothing
        self.props = self.tied = False
        self.on = set(REACHING) | {"bolt", "arm", "plate", "cover"}
        self.loose = set()
        self.phase = 0


def base(step):
    for side in ("left", "right"):
        if step.endswith("-" + side):
            return step[: -len(side) - 1], [side]
    return step, ["left", "right"]


class Car:
    def __init__(self):
        self.sides = {"left": Side(), "right": Side()}
        self.stands = self.brakes_open = self.compared = False
        self.phase = 0
        self.wrong = []

    def bad(self, rule, step, words):
        self.wrong.append((rule, step, words))

    def jacked(self, but=None):
        return any(s.held == "jack" and s.load == "wound"
                   for name, s in self.sides.items() if name != but)

    def step(self, step):
        name, names = base(step)
        if name not in TABLE:
            self.bad(0, step, "an id that the judge does not know")
            return
        self.in_phase(step, name, names if len(names) == 1 else [])
        for act in TABLE[name].split():
            self.whole(act, step)
            for one in names:
                self.one(act, step, one)

    def in_phase(self, step, name, names):
        phase = PHASE[name]
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
        if act in ("up", "down", "roll", "engine") and self.jacked():
            self.bad(8, step, "the body moves with an arm on a jack")
        if act == "up":
            self.stands = True
            for s in self.sides.values():
                s.held = "stop"
        elif act == "down":
            for name, s in self.sides.items():
                missing = {"bolt", "arm", "plate", "cover"} - s.on
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
            self.compared = True

    def one(self, act, step, name):
        s = self.sides[name]
        reaching = s.on & set(REACHING)
        bad = lambda rule, words: self.bad(rule, step, f"{name}: {words}")
        if act in ("prop", "jack", "wind") and self.jacked(but=name):
            bad(8, "a jack under the second arm")
        if act in ("prop", "jack", "wind") and not self.stands:
            bad(8, "jacked off its stands")
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
            if "bolt" in s.on:
                s.held = "stop"
            else:
                if reaching:
                    bad(3, f"let down to hang with {sorted(reaching)} on")
                s.held, s.load = "nothing", "hanging"
        elif act == "tie":
            s.tied = True
        elif act == "untie":
            s.tied = False
        elif act == "hangs?" and (s.tied or "bolt" in s.on or s.load != "hanging"):
            bad(1, "it cannot be found hanging")
        elif act == "free?":
            if s.load == "hanging" and "arm" not in s.on and not s.tied:
                s.load = "free"
            elif s.load != "out":
                bad(1, "it cannot be found free")
        elif act == "swing" and s.load == "wound":
            bad(2, "swung with the bar wound")
        elif act.startswith("-"):
            self.off(act[1:], step, s, bad)
        elif act.startswith("+"):
            self.add(act[1:], s, bad)
        elif act.startswith("tight-"):
            what = act[6:]
            if what == "cover" and (s.load not in ("free", "out") or "arm" in s.on):
                bad(5, "the cover tightened with a load on the bar")
            s.loose.discard(what)

    def off(self, what, step, s, bad):
        if what in ("cover", "plate", "bar") and s.load not in ("free", "out"):
            bad(1, f"{what} moved, the bar not found free")
        if what == "arm" and s.load == "wound":
            bad(1, "the arm drawn from a wound bar")
        if what in REACHING + ("bolt",) and s.held == "wheel":
            bad(2, f"{what} off with the car on its wheels")
        if what in ("bolt", "damper") and s.load == "wound" and not s.props:
            bad(2, f"{what} out without a second hold")
        if what == "bolt" and s.load == "wound":
            if s.held != "jack":
                bad(2, "the stop bolt out under load")
            if s.on & set(REACHING):
                bad(3, f"the stop out with {sorted(s.on & set(REACHING))} on")
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
        if what in REACHING and s.held != "stop":
            bad(3, f"{what} on before the arm rests on its stop")
        s.on.add(what)
        if what == "arm" and s.load == "free":
            s.load, s.held = "hanging", "nothing"
        if what == "plate" and s.load != "out":
            self.compared = False


def judge(plan):
    car = Car()
    for step in plan["order"]:
        car.step(step)
    wrong = list(car.wrong)
    if plan["expect"] == "named":
        if not plan["problems"]:
            wrong.append((0, "-", "nothing is named and no plan stops"))
        return wrong
    missing = set(plan["all"]) - set(plan["order"])
    if missing:
        wrong.append((0, "-", f"{len(missing)} steps missing, {sorted(missing)[:3]}"))
    if car.stands or "wheels-down" not in plan["order"]:
        wrong.append((0, "-", "it does not reach the wheels"))
    for step in plan["order"]:
        name, sides = base(step)
        for need in NEEDS.get(name, []):
            known = all(f"{need}-{side}" in plan["known"] for side in sides)
            if not known and step not in plan["gates"]:
                wrong.append((0, step, f"may be done though {need} is not known"))
    return wrong


def main():
    count = collections.Counter()
    for line in sys.stdin:
        plan = json.loads(line)
        wrong = judge(plan)
        kind = plan["case"].split(":")[0]
        count[f"{kind}: cases"] += 1
        count[f"{kind}: gated steps"] += len(set(plan["gates"]))
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


main()
