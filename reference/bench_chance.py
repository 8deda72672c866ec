"""The peer in `cargo bench -p axlewright-mechanics --bench chance`.

Reads from standard input, in SI units: a line with the number of builds and the seed, a line with
free angle and wanted trim, then one line per input: name, best value, standard uncertainty, shape.
Draws so many builds of the corner and solves each for ride angle, trim, free angle needed, camber
and toe, over NumPy arrays: the same equations, its own start from slopes at the best values and as
few steps as that allows. Prints one line per way of arranging the arrays: its name, the fastest
run's seconds by the clock and of processor time, and mean and standard deviation of every outcome,
by which the caller sees that the same corner came out.

Not a reference for correctness: the algebra is the program's. The numbers by chance are NumPy's
own (PCG64), so the outcomes agree only as two samples do.
"""

import math
import sys
import time

import numpy as np

G = 9.80665
OUT = ("trim", "read", "ride", "needed", "camber", "toe")


def read_job():
    n, seed = (int(t) for t in sys.stdin.readline().split())
    free, trim = (float(t) for t in sys.stdin.readline().split())
    inputs = {}
    for line in sys.stdin:
        name, value, u, shape = line.split()
        inputs[name] = (float(value), float(u), shape)
    return n, seed, free, trim, inputs


def cross(a, b):
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def dot(a, b):
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def minus(a, b):
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


class Corner:
    """Builds of one corner over arrays: one array per component. Both eccentric holes move
    together and there is no bush, as on the demo car."""

    def __init__(self, x):
        self.x = x
        p = lambda name: tuple(x[name + axis] for axis in "XYZ")
        self.pivot = p("Pivot")
        self.to_hub = minus(p("Hub"), self.pivot)
        s, c = np.sin(x["DesignAngle"]), np.cos(x["DesignAngle"])
        h = self.to_hub
        hole = lambda u, w: (h[0] - u * c - w * s, h[1], h[2] - u * s + w * c)
        front = hole(x["HoleFrontU"], x["HoleFrontW"])
        rear = hole(x["HoleRearU"], x["HoleRearW"])
        self.reach = np.sqrt(dot(front, front))
        self.per_reach = 1.0 / self.reach
        e = tuple(a * self.per_reach for a in front)
        self.along = dot(e, rear)
        aside = minus(rear, tuple(a * self.along for a in e))
        self.across = np.sqrt(dot(aside, aside))
        self.per_across = 1.0 / self.across
        f = tuple(a * self.per_across for a in aside)
        g = cross(e, f)
        self.branch = np.sign(dot(f, cross(e, (-s, 0.0, c))))
        in_arm = lambda v: (dot(e, v), dot(f, v), dot(g, v))
        axle = (np.tan(x["Toe"]), 1.0, -np.tan(x["Camber"]))
        size = np.sqrt(axle[0] ** 2 + 1.0 + axle[2] ** 2)
        self.axle = in_arm(tuple(a / size for a in axle))
        self.wheel = in_arm(minus(p("Wheel"), self.pivot))
        self.eye = in_arm(minus(p("DamperArm"), self.pivot))
        self.from_body = minus(self.pivot, p("DamperBody"))
        self.u, self.w = x["HoleFrontU"] + x["ShiftU"], x["HoleFrontW"] + x["ShiftW"]
        self.rise = x["HoleRearW"] + x["ShiftW"] - self.w
        d2 = x["BarDiameter"] * x["BarDiameter"]
        self.rate = (x["RateShare"] * x["BarModulus"] * (math.pi / 32.0) * d2 * d2
                     / x["BarLength"])
        self.load = (x["Weight"] - x["Unsprung"]) * G

    def see(self, angle):
        s, c = np.sin(angle), np.cos(angle)
        x = self.to_hub[0] - self.u * c - self.w * s
        z = self.to_hub[2] - self.u * s + self.w * c
        y = np.sqrt(self.reach * self.reach - (x * x + z * z))
        ex, ey, ez = x * self.per_reach, y * self.per_reach, z * self.per_reach
        lean = ez * c - ex * s
        room = 1.0 - lean * lean
        k = (self.rise + lean * (self.reach - self.along)) * self.per_across
        side = self.branch * np.sqrt(room - k * k) / room
        up = k / room
        lean_up = up * lean
        f = (-(up * s) - lean_up * ex + side * ey * c,
             -(lean_up * ey) - side * (ez * s + ex * c),
             up * c - lean_up * ez + side * ey * s)
        e = (ex, ey, ez)
        g = cross(e, f)
        hx, hz = self.u * s - self.w * c, -(self.u * c) - self.w * s
        hy = -(ex * hx + ez * hz) / ey
        swing = tuple(a * self.per_reach for a in cross(e, (hx, hy, hz)))
        rear = tuple(a * self.along + b * self.across for a, b in zip(e, f))
        seen = minus(rear, self.to_hub)
        lift = cross(swing, rear)
        missing = c * (seen[0] - lift[2]) + s * (seen[2] + lift[0])
        turn = missing * self.per_across / (c * g[2] - s * g[0])
        spin = tuple(a + b * turn for a, b in zip(swing, e))
        frame = (e, f, g)
        wheel = self.place(frame, self.wheel)
        return frame, spin, wheel, cross(spin, wheel)

    @staticmethod
    def place(frame, v):
        e, f, g = frame
        return tuple(e[i] * v[0] + f[i] * v[1] + g[i] * v[2] for i in range(3))

    def turned(self, seen):
        frame, spin, _, wheel_rate = seen
        axle = self.place(frame, self.axle)
        axle_rate = cross(spin, axle)
        flat = np.sqrt(axle[0] * axle[0] + axle[1] * axle[1])
        drop = ((axle[0] * axle_rate[0] + axle[1] * axle_rate[1]) / flat * self.x["TyreRadius"]
                - wheel_rate[2])
        eye = self.place(frame, self.eye)
        span = tuple(a + b for a, b in zip(eye, self.from_body))
        slope = dot(span, cross(spin, eye)) / np.sqrt(dot(span, span))
        return self.x["Gas"] * slope - self.load * drop, axle, axle_rate

    def trim(self, seen):
        return self.to_hub[2] - seen[2][2]


def build(x, free, trim, ride, wanted, stiffness, needed_slope):
    """All outcomes, as the program works them out."""
    corner = Corner(x)
    free = free + x["Reading"] + x["Level"] + x["Lash"]
    moment = lambda angle, turned: corner.rate * (free - angle) + turned[0]
    first = moment(ride, corner.turned(corner.see(ride)))
    second = ride - first / stiffness
    at_second = moment(second, corner.turned(corner.see(second)))
    change = at_second - first
    slope = np.where(change != 0.0, (second - ride) / np.where(change != 0.0, change, 1.0),
                     1.0 / stiffness)
    third = second - at_second * slope
    seen = corner.see(third)
    turned = corner.turned(seen)
    step = -moment(third, turned) * slope
    stands = corner.trim(seen) - seen[3][2] * step - x["Settling"]
    axle = tuple(a + b * step for a, b in zip(turned[1], turned[2]))
    target = trim + x["Settling"]
    newton = lambda seen: (corner.trim(seen) - target) / seen[3][2]
    nearer = wanted + newton(corner.see(wanted))
    there = corner.see(nearer)
    last = newton(there)
    needed = nearer - corner.turned(there)[0] / corner.rate + last * needed_slope
    return (stands, stands + x["Friction"], third + step, needed,
            -np.arctan2(axle[2], axle[1]), np.arctan2(axle[0], axle[1]))


def solve(x, free, trim, ride, wanted):
    """Ride angle and angle at the wanted trim to rounding, for the slopes: plain Newton by
    differences, over arrays."""
    corner = Corner(x)
    free = free + x["Reading"] + x["Level"] + x["Lash"]
    moment = lambda a: corner.rate * (free - a) + corner.turned(corner.see(a))[0]
    height = lambda a: corner.trim(corner.see(a)) - trim - x["Settling"]
    for _ in range(8):
        for f, which in ((moment, 0), (height, 1)):
            a = (ride, wanted)[which]
            a = a - f(a) * 2e-6 / (f(a + 1e-6) - f(a - 1e-6))
            ride, wanted = (a, wanted) if which == 0 else (ride, a)
    return ride, wanted


class Job:
    def __init__(self, n, seed, free, trim, inputs):
        self.n, self.seed, self.free, self.trim, self.inputs = n, seed, free, trim, inputs
        best = {name: value for name, (value, _, _) in inputs.items()}
        start = best["DesignAngle"]
        self.ride, self.wanted = solve(best, free, trim, start, start)
        corner, h = Corner(best), 1e-5
        moment = lambda a: corner.rate * (free - a) + corner.turned(corner.see(a))[0]
        needed = lambda a: a - corner.turned(corner.see(a))[0] / corner.rate
        self.stiffness = (moment(self.ride + h) - moment(self.ride - h)) / (2 * h)
        self.needed_slope = (needed(self.wanted + h) - needed(self.wanted - h)) / (2 * h)
        self.slopes = {}
        for name, (value, u, _) in inputs.items():
            if u > 0.0:
                up, down = (solve({**best, name: value + s * u}, free, trim, self.ride,
                                  self.wanted) for s in (1.0, -1.0))
                self.slopes[name] = tuple((a - b) / (2 * u) for a, b in zip(up, down))

    def part(self, rng, n):
        x, ride, wanted = {}, self.ride, self.wanted
        for name, (value, u, shape) in self.inputs.items():
            if u == 0.0:
                x[name] = value
                continue
            if shape == "Normal":
                dx = rng.standard_normal(n)
            else:
                dx = rng.uniform(-math.sqrt(3.0), math.sqrt(3.0), n)
            dx *= u
            x[name] = value + dx
            by_ride, by_wanted = self.slopes[name]
            ride = ride + by_ride * dx
            wanted = wanted + by_wanted * dx
        return build(x, self.free, self.trim, ride, wanted, self.stiffness, self.needed_slope)

    def run(self, block):
        rng = np.random.default_rng(self.seed)
        parts = [self.part(rng, min(block, self.n - i)) for i in range(0, self.n, block)]
        return [np.concatenate(column) for column in zip(*parts)]


def main():
    job = Job(*read_job())
    print("versions", sys.version.split()[0], np.__version__)
    for name, block in (("numpy", job.n), ("numpy-blocks", 4096), ("numpy-small-blocks", 1024)):
        taken = []
        for _ in range(5):
            start, used = time.perf_counter(), time.process_time()
            columns = job.run(block)
            taken.append((time.perf_counter() - start, time.process_time() - used))
        numbers = [f(column) for column in columns for f in (np.mean, np.std)]
        print(name, *(repr(min(t)) for t in zip(*taken)), *(repr(float(v)) for v in numbers))


if __name__ == "__main__":
    main()
