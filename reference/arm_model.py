"""A rigid arm as a constraint system: the road the program does not take.

The program computes a pose in closed form. Here the arm is a free body with six unknowns (where
its inner pivot went, and a rotation vector) under six equations: the pivot stays where it is
(three), and the bolt holes lie in the spring plate where they must (front hole: u and w, rear
hole: w). SciPy solves them; no formula is shared with the program.

Everything that follows from a pose is likewise said in another way: the wheel by the traces its
plane leaves, the contact by searching the tyre's rim for its lowest point, forces by the slope of
potential energy. All data are invented. Millimetres, degrees and newtons outside; X forward,
Y left, Z up; plate angle + tail down.
"""

import math

import numpy as np
from scipy.optimize import brentq, least_squares, minimize_scalar, root
from scipy.spatial.transform import Rotation

GRAVITY = 9.80665

# Lengths mm, angles deg, masses kg, forces N, rate N·m/rad. `moves`: which holes the up-down
# eccentric moves, front and rear.
ARMS = {
    "larch": dict(
        hub=(0, 610, 0), pivot=(-55, 235, -20), front=(250, 6), rear=(330, 6), moves=(1, 1),
        angle=11.0, wheel=(-455, 668, -95), camber=-0.5, toe=0.1, radius=292,
        damper_body=(-470, 560, 250), damper_arm=(-525, 590, -110), closed=252, open=474,
        rings=84, hose_body=(-150, 400, 30), hose_arm=(-260, 430, -30), hose_longest=157.7,
        jack=(-440, 600, -150), arm_mass=22, arm_com=(-400, 590, -100), plate_mass=2.1,
        plate_com=(160, 0), bolt=(-214, -146), keep=14, bolt_radius=5, bend=6,
        outline=((-60, 55), (250, 50), (370, 38), (370, -36), (250, -46), (-60, -55)),
        shaft_inner=(-455, 170, -70), shaft_inboard=95, joint=20, plunge=22,
        bar_d=23.0, bar_l=540.0, gas=120, load=2392.8226, reach=(-35, 60)),
    "stub": dict(
        hub=(15, 540, -8), pivot=(40, 310, 35), front=(180, -22), rear=(295, -14), moves=(0, 1),
        angle=4.0, wheel=(-390, 640, -60), camber=-1.2, toe=0.3, radius=265,
        damper_body=(-400, 520, 230), damper_arm=(-430, 560, -70), closed=210, open=390,
        rings=40, hose_body=(-120, 360, 40), hose_arm=(-210, 400, -25), hose_longest=150,
        jack=(-370, 560, -110), arm_mass=16, arm_com=(-330, 560, -50), plate_mass=1.6,
        plate_com=(140, -5), bolt=(-170, -150), keep=12, bolt_radius=6, bend=5,
        outline=((-50, 45), (200, 30), (320, 20), (320, -45), (180, -58), (-50, -48)),
        shaft_inner=(-380, 150, -40), shaft_inboard=80, joint=16, plunge=20,
        bar_d=20.0, bar_l=600.0, gas=90, load=1650.0, reach=(-20, 40)),
    "reed": dict(
        hub=(0, 680, 0), pivot=(120, 180, 60), front=(310, 12), rear=(420, -5), moves=(1, 0),
        angle=16.0, wheel=(-560, 735, -170), camber=0.4, toe=-0.2, radius=310,
        damper_body=(-600, 640, 300), damper_arm=(-640, 660, -190), closed=330, open=590,
        rings=60, hose_body=(-200, 420, 30), hose_arm=(-330, 470, -80), hose_longest=205,
        jack=(-540, 650, -220), arm_mass=27, arm_com=(-480, 640, -150), plate_mass=2.8,
        plate_com=(190, 4), bolt=(-250, -205), keep=15, bolt_radius=6, bend=8,
        outline=((-70, 60), (300, 52), (460, 40), (460, -44), (300, -52), (-70, -60)),
        shaft_inner=(-560, 190, -130), shaft_inboard=100, joint=18, plunge=25,
        bar_d=26.0, bar_l=620.0, gas=0, load=3100.0, reach=(-15, 48)),
}


def plate_axes(angle_deg):
    """Along the plate rearward, and square to it upward."""
    turn = Rotation.from_euler("y", -angle_deg, degrees=True)
    return turn.apply([-1.0, 0.0, 0.0]), turn.apply([0.0, 0.0, 1.0])


class Arm:
    def __init__(self, name):
        self.name, self.d = name, ARMS[name]
        d = self.d
        self.hub, self.pivot = (np.array(d[k], float) for k in ("hub", "pivot"))
        along, up = plate_axes(d["angle"])
        self.holes = [self.hub + u * along + w * up for u, w in (d["front"], d["rear"])]
        camber, toe = (math.radians(d[k]) for k in ("camber", "toe"))
        # The wheel's plane leaves a level trace and an upright trace; the axle is square to both.
        level = np.array([math.cos(toe), -math.sin(toe), 0.0])
        upright = np.array([0.0, math.sin(camber), math.cos(camber)])
        axle = np.cross(upright, level)
        self.axle = axle / np.linalg.norm(axle)
        self.rate = 78.5e9 * math.pi * (d["bar_d"] * 1e-3) ** 4 / 32 / (d["bar_l"] * 1e-3)
        self.known = {}

    def pose(self, angle, du=0.0, dw=0.0):
        """Where the arm goes: from the design pose in steps of at most 2°, so that the branch
        followed is the one a hand on the plate would follow."""
        start = np.zeros(6)
        steps = max(1, math.ceil(abs(angle - self.d["angle"]) / 2.0))
        for n in range(1, steps + 1):
            share = n / steps
            start = self._solve(self.d["angle"] + share * (angle - self.d["angle"]),
                                share * du, share * dw, start)
        return Pose(self, angle, start)

    def near(self, angle, pose, du=0.0, dw=0.0):
        return Pose(self, angle, self._solve(angle, du, dw, pose.x))

    def _solve(self, angle, du, dw, start):
        along, up = plate_axes(angle)
        (u, w), (_, w_rear) = self.d["front"], self.d["rear"]
        moves = self.d["moves"]

        def off(x):
            turn, shift = Rotation.from_rotvec(x[3:]), x[:3]
            front, rear = turn.apply(np.array(self.holes) - self.pivot) + self.pivot + shift
            return [*shift, (front - self.hub) @ along - u - du,
                    (front - self.hub) @ up - w - moves[0] * dw,
                    (rear - self.hub) @ up - w_rear - moves[1] * dw]

        # The second start is so good that what is left is rounding. Where Powell's method gives
        # up for want of progress, least squares goes on.
        x = root(off, root(off, start, tol=1e-12).x, tol=1e-14).x
        if np.abs(off(x)).max() > 1e-9:
            x = least_squares(off, start, xtol=1e-15, ftol=1e-15, gtol=1e-15).x
            x = root(off, x, tol=1e-14).x
        left = np.abs(off(x)).max()
        if left > 1e-9:
            raise ArithmeticError(f"{self.name} at {angle}: {left} mm left over")
        return x


class Pose:
    def __init__(self, arm, angle, x):
        self.arm, self.angle, self.x = arm, angle, x
        self.turn = Rotation.from_rotvec(x[3:])

    def carry(self, at):
        return self.turn.apply(np.array(at, float) - self.arm.pivot) + self.arm.pivot + self.x[:3]

    def wheel(self):
        return self.carry(self.arm.d["wheel"])

    def axle(self):
        return self.turn.apply(self.arm.axle)

    def camber_toe(self):
        """Angles of the traces the wheel's plane leaves in the car's upright cross plane and in
        the road."""
        s = self.axle()
        upright, level = np.cross([1.0, 0, 0], s), np.cross(s, [0, 0, 1.0])
        return (math.degrees(math.atan2(upright[1], upright[2])),
                math.degrees(math.atan2(-level[1], level[0])))

    def contact(self):
        """The lowest point of the rim, searched for."""
        s = self.axle()
        first = np.cross(s, [1.0, 0.0, 0.0])
        first /= np.linalg.norm(first)
        second = np.cross(s, first)
        rim = lambda t: self.arm.d["radius"] * (math.cos(t) * first + math.sin(t) * second)
        # Where the rim runs level; the lower of the two such points.
        slope = lambda t: -math.sin(t) * first[2] + math.cos(t) * second[2]
        marks = np.linspace(0.1, 0.1 + 2 * math.pi, 25)
        level = [brentq(slope, a, b, xtol=1e-15) for a, b in zip(marks, marks[1:])
                 if slope(a) * slope(b) < 0]
        return self.wheel() + min((rim(t) for t in level), key=lambda p: p[2])

    def bend(self):
        return [self.carry(h)[1] - self.arm.hub[1] for h in self.arm.holes]

    def span(self, body, arm_point):
        return float(np.linalg.norm(self.carry(arm_point) - np.array(body, float)))

    def plate_point(self, u, w):
        along, up = plate_axes(self.angle)
        return self.arm.hub + u * along + w * up

    def clearance(self):
        """Distance of the bolt from the plate as it stands in the body; negative where covered.
        Covered: the outline winds round the bolt."""
        x, z = self.arm.d["bolt"]
        bolt = np.array([x, z], float)
        corners = np.array([self.plate_point(u, w)[[0, 2]] for u, w in self.arm.d["outline"]])
        nearest, winding = math.inf, 0.0
        for a, b in zip(corners, np.roll(corners, -1, axis=0)):
            along = minimize_scalar(lambda t: float(np.sum((a + t * (b - a) - bolt) ** 2)),
                                    bounds=(0, 1), method="bounded", options=dict(xatol=1e-9))
            ends = [np.linalg.norm(a - bolt), np.linalg.norm(b - bolt)]
            # Between the ends the distance is that to the line; the search says which applies.
            inside = 1e-6 < along.x < 1 - 1e-6
            line = abs(np.linalg.det([b - a, bolt - a])) / np.linalg.norm(b - a)
            nearest = min(nearest, *ends, line if inside else math.inf)
            p, q = a - bolt, b - bolt
            winding += math.atan2(p[0] * q[1] - p[1] * q[0], p @ q)
        return -nearest if abs(winding) > math.pi else nearest

    def shaft(self):
        """Angles of the inner and the outer joint, and plunge."""
        d, arm = self.arm.d, self.arm
        outer0 = np.array(d["wheel"], float) - d["shaft_inboard"] * arm.axle
        inner = np.array(d["shaft_inner"], float)
        shaft = self.carry(outer0) - inner
        length = np.linalg.norm(shaft)
        tilt = lambda axis: math.degrees(2 * math.asin(
            min(1.0, np.linalg.norm(shaft / length - axis) / 2)))
        plunge = length - np.linalg.norm(outer0 - inner)
        return tilt(np.array([0.0, 1.0, 0.0])), tilt(self.axle()), float(plunge)


def slope(f, x, step):
    """First derivative by the nine-point central difference."""
    weights = (4 / 5, -1 / 5, 4 / 105, -1 / 280)
    return sum(c * (f(x + n * step) - f(x - n * step))
               for n, c in enumerate(weights, start=1)) / step


def write(path, versions, header, rows):
    def cell(c):
        return c if isinstance(c, str) else f"{c:.9f}".rstrip("0").rstrip(".")

    with open(path, "w", encoding="utf-8", newline="\n") as out:
        out.write(f"# {versions}\n# Independent of the program: see the script that wrote this.\n")
        out.write(",".join(header) + "\n")
        for row in rows:
            out.write(",".join(cell(c) for c in row) + "\n")
