"""Writes cars.csv and rests.csv: whole cars at rest by least potential energy.

Independently formulated: the body is a free rigid body in the world (height, then turned nose up,
then left side up), each rear wheel is carried by the constraint solver of arm_model.py or by a
plain lever, the lowest point of a tyre is sought over its rim, and a rest is where the whole
energy in world coordinates has no slope (nine-point differences), lower there than round about.
The program's balance of forces and moments appears nowhere. All cars are invented, drawn from a
seed. Run as `python car_oracle.py --out DIR`.
"""

import argparse
import math
import pathlib

import numpy as np
import scipy
from arm_model import ARMS, GRAVITY, Arm, slope, write
from scipy.optimize import root
from scipy.spatial.transform import Rotation

CARS = 30
SEED = 2611
VERSIONS = f"car_oracle.py, numpy {np.__version__}, scipy {scipy.__version__}, seed {SEED}"
WHEELS = ("LF", "RF", "LR", "RR")
# Degrees, millimetres: steps of the difference quotients. Wide, so that rounding drowns.
TILT, TRAVEL, SWING = 0.2, 4.0, 1.0


class Swung:
    """An arm whose poses are solved once per angle."""

    def __init__(self, name, data):
        ARMS[name] = data
        self.arm, self.poses, self.places = Arm(name), {}, {}
        self.shift, self.designed = data["shift"], data["wheel"][2]

    def pose(self, degrees):
        if degrees not in self.poses:
            close = min(self.poses, key=lambda a: abs(a - degrees), default=None)
            if close is not None and abs(close - degrees) < 1.5:
                pose = self.arm.near(degrees, self.poses[close], *self.shift)
            else:
                pose = self.arm.pose(degrees, *self.shift)
            self.poses[degrees] = pose
            self.places[degrees] = pose.wheel(), pose.axle()
        return self.poses[degrees]

    def centre_and_axle(self, degrees):
        self.pose(degrees)
        return self.places[degrees]

    def gas(self, degrees):
        d = self.arm.d
        return d["gas"] * self.pose(degrees).span(d["damper_body"], d["damper_arm"])


class Lever:
    """A wheel on a circle about the bar; the damper goes straight up."""

    def __init__(self, data):
        self.d, self.designed = data, data["hub"][2] - data["trim"]

    def centre_and_axle(self, degrees):
        d = self.d
        hub = np.array(d["hub"], float)
        sunk = math.asin(d["trim"] / d["reach"]) + math.radians(degrees - d["angle"])
        return hub + d["reach"] * np.array([-math.cos(sunk), 0, -math.sin(sunk)]), np.array([0, 1.0, 0])

    def gas(self, degrees):
        return self.d["gas"] * self.d["gas_reach"] * math.radians(degrees)


def left_or_right(wheel, v):
    return v if wheel[0] == "L" else v * np.array([1, -1, 1])


def lowest(centre, axle, radius, turn):
    """Height and place (in world directions) of the lowest point of a rim, from its own two
    directions."""
    first = np.cross(axle, [1.0, 0.0, 0.0])
    first /= np.linalg.norm(first)
    second = np.cross(axle, first)
    a, b = turn[2] @ first, turn[2] @ second
    t = math.atan2(b, a) + math.pi
    return turn @ (centre + radius * (math.cos(t) * first + math.sin(t) * second))


class Car:
    """Unknowns: height mm, nose up deg, left side up deg, travel LF RF mm, plate angle LR RR deg."""

    def __init__(self, number, rng):
        self.name, self.d = f"c{number:02}", draw(number, rng)
        d = self.d
        self.rear, self.turns = {}, {}
        for wheel in ("LR", "RR"):
            data = d[wheel]
            self.rear[wheel] = Lever(data) if data["lever"] else Swung(self.name + wheel, data)

    def turn(self, nose, left):
        key = (nose, left)
        if key not in self.turns:
            nose_up = Rotation.from_euler("y", -nose, degrees=True)
            self.turns[key] = (nose_up * Rotation.from_euler("x", left, degrees=True)).as_matrix()
        return self.turns[key]

    def touch(self, wheel, x):
        """World place of the tyre's lowest point, mm."""
        turn = self.turn(x[1], x[2])
        if wheel in ("LF", "RF"):
            d = self.d[wheel]
            point = np.array(d["contact"], float) + [0, 0, x[3 + WHEELS.index(wheel)]]
            return turn @ point + [0, 0, x[0]]
        centre, axle = self.rear[wheel].centre_and_axle(x[3 + WHEELS.index(wheel)])
        centre, axle = left_or_right(wheel, centre), left_or_right(wheel, axle)
        return lowest(centre, axle, self.d[wheel]["radius"], turn) + [0, 0, x[0]]

    def tyre(self, wheel, x):
        """Load on the road, N, and the energy in tyre and unsprung weight, N·mm."""
        d = self.d[wheel]
        at = self.touch(wheel, x)[2]
        gap, load0 = at - d["floor"], d["weight"] * GRAVITY
        load = load0 - d["tyre"] * gap
        return load, -load0 * gap + 0.5 * d["tyre"] * gap**2 + d["unsprung"] * GRAVITY * at

    def rise(self, wheel, x):
        """Wheel travel in the body, for an anti-roll bar."""
        q = x[3 + WHEELS.index(wheel)]
        if wheel in ("LF", "RF"):
            return q
        rear = self.rear[wheel]
        return rear.centre_and_axle(q)[0][2] - rear.designed

    def spring(self, wheel, x):
        d, q = self.d[wheel], x[3 + WHEELS.index(wheel)]
        if wheel in ("LF", "RF"):
            load0 = (d["weight"] - d["unsprung"]) * GRAVITY
            return load0 * q + 0.5 * d["rate"] * (q + d["raised"]) ** 2
        twist = math.radians(d["free"] - q)
        bar = 0.5 * d["bar"] * twist**2 * 1e3
        bush = 0.5 * d["bush"] * math.radians(d["bush_at"] - q) ** 2 * 1e3
        return bar + bush - self.rear[wheel].gas(q)

    def bars(self, x):
        total = 0.0
        for (left, right), key in ((("LF", "RF"), "front_bar"), (("LR", "RR"), "rear_bar")):
            if self.d[key]:
                total += 0.5 * self.d[key] * (self.rise(left, x) - self.rise(right, x)) ** 2
        return total

    def body(self, x):
        centre = self.turn(x[1], x[2]) @ self.d["centre"] + [0, 0, x[0]]
        return self.d["mass"] * GRAVITY * centre[2]

    def energy(self, x):
        each = sum(self.tyre(w, x)[1] + self.spring(w, x) for w in WHEELS)
        return self.body(x) + each + self.bars(x)

    def part(self, i, x):
        """What of the energy changes with one unknown."""
        if i < 3:
            return self.body(x) + sum(self.tyre(w, x)[1] for w in WHEELS)
        wheel = WHEELS[i - 3]
        return self.tyre(wheel, x)[1] + self.spring(wheel, x) + self.bars(x)

    def slopes(self, x):
        """Slopes of the energy, each along one unknown, as forces over half a metre."""
        steps = (TRAVEL, TILT, TILT, TRAVEL, TRAVEL, SWING, SWING)
        out = []
        for i, step in enumerate(steps):
            here = self.part(i, x)

            def along(value, i=i, here=here):
                moved = np.array(x, float)
                moved[i] = value
                return self.part(i, moved) - here

            out.append(slope(along, x[i], step) / (1 if i in (0, 3, 4) else 500))
        return out

    def rest(self):
        d = self.d
        ride = [d[w]["angle"] for w in ("LR", "RR")]
        x = np.array([self.d["LR"]["radius"] + 95.0, 0, 0, 0, 0, *ride])
        found = root(self.slopes, x, tol=1e-13, options=dict(eps=1e-5))
        x = found.x
        left = np.abs(self.slopes(x)).max()
        if left > 2e-5:
            raise ArithmeticError(f"{self.name}: {left} N left over: {found.message}")
        here = self.energy(x)
        for i in range(7):
            for way in (-0.5, 0.5):
                moved = np.array(x)
                moved[i] += way
                assert self.energy(moved) > here, f"{self.name}: not the least, {i}"
        return x, left

    def read(self):
        x, _ = self.rest()
        turn = self.turn(x[1], x[2])
        load = [self.tyre(w, x)[0] / GRAVITY for w in WHEELS]
        assert min(load) > 0, self.name
        row = [*load, *x]
        for wheel in ("LR", "RR"):
            centre, axle = self.rear[wheel].centre_and_axle(x[3 + WHEELS.index(wheel)])
            hub = left_or_right(wheel, np.array(self.d[wheel]["hub"], float))
            centre, axle = left_or_right(wheel, centre), left_or_right(wheel, axle)
            trim = turn[2] @ (hub - centre)
            row += [trim, *seen(wheel, turn @ axle, turn[:, 0])]
        level = lambda v: math.degrees(math.atan2(v[2], math.hypot(v[0], v[1])))
        row += [level(turn[:, 0]), level(turn[:, 1])]
        row.append((load[1] + load[2]) / sum(load))
        return [self.name, *(float(c) for c in row)]


def seen(wheel, axle, nose):
    """Camber and toe by the traces of the wheel's plane: upright across the car's heading, and
    in the road."""
    heading = np.array([nose[0], nose[1], 0.0])
    heading /= np.linalg.norm(heading)
    out = np.cross([0, 0, 1.0], heading) * (1 if wheel[0] == "L" else -1)
    upright = np.cross(heading, axle)
    upright *= np.sign(upright[2])
    level = np.cross(axle, [0, 0, 1.0])
    level *= np.sign(level @ heading)
    camber = math.atan2(upright @ out, upright[2])
    toe = math.atan2(-(level @ out), level @ heading)
    return math.degrees(camber), math.degrees(toe)


def draw(number, rng):
    """An invented car near one that stands level at its design angle, then put out of true."""
    u = lambda low, high, digits=3: round(float(rng.uniform(low, high)), digits)
    base = dict(ARMS[("larch", "stub", "reed")[number % 3]])
    lever = number % 5 == 4
    d = dict(
        mass=u(600, 1100), front_bar=u(0, 12) if number % 2 else 0.0,
        rear_bar=u(0, 8) if number % 4 == 1 else 0.0)
    wheelbase, front_y = u(1700, 2300), u(560, 700)
    low = base["wheel"][2] - base["radius"]
    behind = u(0.5, 0.62)
    reach = wheelbase
    d["centre"] = (round(base["wheel"][0] + (1 - behind) * reach, 3), u(-25, 25), u(0, 350))
    for wheel in ("LF", "RF"):
        side = 1 if wheel[0] == "L" else -1
        sprung, unsprung = 0.5 * d["mass"] * (1 - behind), u(25, 40)
        d[wheel] = dict(
            contact=(round(base["wheel"][0] + reach, 3), side * front_y, float(low)), rate=u(11, 28),
            weight=round(sprung + unsprung + u(-8, 8), 3), unsprung=unsprung, tyre=u(140, 260),
            raised=u(-12, 12), floor=u(-12, 12))
    for wheel in ("LR", "RR"):
        c = dict(base)
        move = lambda p, far: tuple(round(v + u(-far, far), 3) for v in p)
        for key in ("pivot", "wheel", "damper_body", "damper_arm"):
            c[key] = move(c[key], 4)
        load = 0.5 * d["mass"] * behind
        c.update(
            lever=float(lever), shift=(u(-3, 3), u(-3, 3)), unsprung=u(28, 45), tyre=u(140, 260),
            floor=u(-12, 12), gas=u(0, 200), bush=u(0, 60) if number % 3 == 0 else 0.0,
            bush_at=u(0, 20), reach=u(380, 520), trim=u(60, 140), gas_reach=u(380, 480),
            bar=u(3000, 5200))
        c["weight"] = round(load + c["unsprung"] + u(-8, 8), 3)
        # About the twist that carries the load, then out by up to two degrees.
        arm = c["reach"] if lever else -c["wheel"][0]
        c["free"] = round(c["angle"] + math.degrees(load * GRAVITY * arm * 1e-3 / c["bar"]) + u(-2, 2), 3)
        if lever:
            c["hub"] = (0.0, abs(c["wheel"][1]), 0.0)
            c["shift"] = (0.0, 0.0)
        d[wheel] = c
    return d


KEYS = ("lever", "hub", "pivot", "front", "rear", "moves", "angle", "wheel", "camber", "toe",
        "radius", "damper_body", "damper_arm", "gas", "gas_reach", "shift", "unsprung", "tyre",
        "floor", "bush", "bush_at", "reach", "trim", "bar", "weight", "free")


def cars_table(cars):
    for car in cars:
        d = car.d
        parts = {"car": {k: v for k, v in d.items() if k not in WHEELS}}
        parts |= {w: d[w] for w in ("LF", "RF")}
        parts |= {w: {k: d[w][k] for k in KEYS} for w in ("LR", "RR")}
        for part, values in parts.items():
            for key, value in values.items():
                cells = [float(v) for v in np.ravel(value)]
                yield [car.name, part, key, *cells, *[""] * (3 - len(cells))]


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=pathlib.Path, default=pathlib.Path(__file__).parent)
    out = parser.parse_args().out
    rng = np.random.default_rng(SEED)
    cars = [Car(n, rng) for n in range(CARS)]
    write(out / "cars.csv", VERSIONS, ["car", "part", "key", "v1", "v2", "v3"], cars_table(cars))
    header = ["car", *(f"{w}_kg" for w in WHEELS), "height_mm", "nose_deg", "left_deg", "LF_mm",
              "RF_mm", "LR_deg", "RR_deg"]
    for wheel in ("LR", "RR"):
        header += [f"trim_{wheel}_mm", f"camber_{wheel}_deg", f"toe_{wheel}_deg"]
    header += ["pitch_deg", "roll_deg", "cross"]
    write(out / "rests.csv", VERSIONS, header, (car.read() for car in cars))


if __name__ == "__main__":
    main()
