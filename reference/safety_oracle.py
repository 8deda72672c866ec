"""Writes safety.csv: where the demo car's arm stops, and what its stand keeps, drawn 3000 times.

Independent of the program: every draw is a car of its own, its arm put in place by Newton's method
on the rotation (three constraints, three turns), its limits found by bisection, its forces from
differences of lengths; nothing is linearised and no doubt is computed, only counted. The figures
are typed in here again from the demo's story. Run as `python safety_oracle.py --out DIR`.

A row holds the share of the draws it is about and 201 quantiles, every half per cent, so that a
test can count how much of it lies between two values.
"""

import argparse
import pathlib

import numpy as np

G = 9.80665
DEG = np.pi / 180
DRAWS, SEED = 3000, 20261
SHARES = np.linspace(0, 1, 201)

# Value and standard uncertainty, per coordinate: mm, deg, kg, N. ("flat", w) is half a width.
CAR = {
    "hub": ([0, 610, 0], 1.5), "pivot": ([-55, 235, -20], 1.5),
    "hole1": ([250, 6], 1.5), "hole2": ([330, 6], 1.5), "wheel": ([-455, 668, -95], 1.5),
    "ride": (11.0, 0.15), "camber": (-0.5, 0.15), "toe": (0.1, 0), "radius": (292, 1),
    "diameter": (23.0, 0.03), "length": (540, 1), "share": (1.0, 0.02),
    "corner": (280, 8), "settling": (3, ("flat", 2)), "gas": (120, ("flat", 20)),
    "body_eye": ([-470, 560, 250], 1.5), "arm_eye": ([-525, 590, -110], 1.5), "open": (474, 1),
    "plate_at": ([160, 0], 10), "arm_at": ([-400, 590, -100], 15), "jack": ([-440, 600, -150], 10),
    "bolt": ([-214, -146], 1.5), "bolt_radius": (5, 1), "clearance": (14, 1),
    "outline": ([[-60, 55], [250, 50], [370, 38], [370, -36], [250, -46], [-60, -55]], 1.5),
    "hose_body": ([-150, 400, 30], 1.5), "hose_arm": ([-260, 430, -30], 1.5),
    "hose": (166, ("flat", 2)),
    "cable_body": ([-130, 200, 15], 1.5), "cable_arm": ([-395, 520, -70], 1.5), "cable": (452, 1),
    "inner": ([-455, 170, -70], 1.5), "inboard": (95, 1), "plunge": (22, 1),
    "gauge": (35.2, 0.15), "zero": (0.2, 0.1), "sill": (0.1, 0.1),
    "shell": (520, 20), "shell_at": ([900, 0], 50),
}
STANDS = np.array([[1500, 480], [1500, -480], [20, 450], [20, -450.0]])

# What is otherwise than in the demo.
DROOPS = {
    "demo": {},
    "damper and bolt together": {"open": (468, 1)},
    "hose and bolt together": {"hose": (159, 1)},
}
SHELLS = [520, 620, 655, 700, 800]


def dot(a, b):
    return np.einsum("...i,...i", a, b)


class Cars:
    """All draws at once: every quantity has the draws in front."""

    def __init__(self, changes, draws=DRAWS):
        rng = np.random.default_rng(SEED)
        self.n, d = draws, {}
        for key, (value, u) in {**CAR, **changes}.items():
            value = np.broadcast_to(np.asarray(value, float), (draws, *np.shape(value)))
            if isinstance(u, tuple):
                d[key] = value + rng.uniform(-u[1], u[1], value.shape)
            else:
                d[key] = value + u * rng.standard_normal(value.shape)
        self.d = d
        self.design = d["ride"] * DEG
        self.h1, self.h2 = (self.on_plate(d[h], self.design) for h in ("hole1", "hole2"))
        axle = np.stack([np.tan(d["toe"] * DEG), np.ones(draws), -np.tan(d["camber"] * DEG)], 1)
        self.axle = axle / np.linalg.norm(axle, axis=1)[:, None]
        self.k = 78.5e3 * np.pi * d["diameter"] ** 4 / 32 / d["length"] * d["share"]

    def on_plate(self, uw, th):
        u, w, hub = uw[:, 0], uw[:, 1], self.d["hub"]
        return np.stack([hub[:, 0] - u * np.cos(th) - w * np.sin(th), hub[:, 1],
                         hub[:, 2] - u * np.sin(th) + w * np.cos(th)], 1)

    @staticmethod
    def turned(r, by):
        """The rotations r, turned further by the rotation vectors."""
        angle = np.linalg.norm(by, axis=1)
        axis = by / np.where(angle == 0, 1, angle)[:, None]
        k = np.zeros_like(r)
        k[:, 0, 1], k[:, 0, 2], k[:, 1, 2] = -axis[:, 2], axis[:, 1], -axis[:, 0]
        k[:, 1, 0], k[:, 2, 0], k[:, 2, 1] = axis[:, 2], -axis[:, 1], axis[:, 0]
        s, c = np.sin(angle)[:, None, None], (1 - np.cos(angle))[:, None, None]
        return (np.eye(3) + s * k + c * (k @ k)) @ r

    def pose(self, th):
        """Carries points, or directions, of the arm at its design angle to this plate angle."""
        a, hub = self.d["pivot"], self.d["hub"]
        about = np.zeros((self.n, 3))
        about[:, 1] = self.design - th
        r = self.turned(np.broadcast_to(np.eye(3), (self.n, 3, 3)).copy(), about)
        want = self.on_plate(self.d["hole1"], th)
        up = np.stack([-np.sin(th), np.zeros(self.n), np.cos(th)], 1)
        ex, ez = np.array([1.0, 0, 0]), np.array([0, 0, 1.0])
        for _ in range(5):
            q1 = (r @ (self.h1 - a)[..., None])[..., 0]
            q2 = (r @ (self.h2 - a)[..., None])[..., 0]
            off = np.stack([(a + q1 - want)[:, 0], (a + q1 - want)[:, 2],
                            dot(a + q2 - hub, up) - self.d["hole2"][:, 1]], 1)
            rows = np.stack([np.cross(q1, ex), np.cross(q1, ez), np.cross(q2, up)], 1)
            r = self.turned(r, np.linalg.solve(rows, -off[..., None])[..., 0])

        def carry(v, direction=False):
            return (r @ (v if direction else v - a)[..., None])[..., 0] + (0 if direction else a)

        return carry

    def contact_z(self, th):
        carry = self.pose(th)
        s = carry(self.axle, True)
        down = s[:, 2:] * s - np.array([0, 0, 1.0])
        down /= np.linalg.norm(down, axis=1)[:, None]
        return carry(self.d["wheel"])[:, 2] + self.d["radius"] * down[:, 2]

    def length(self, th, body, arm):
        return np.linalg.norm(self.pose(th)(self.d[arm]) - self.d[body], axis=1)

    def damper(self, th):
        return self.length(th, "body_eye", "arm_eye")

    @staticmethod
    def slope(f, th, e=3e-5):
        return (f(th + e) - f(th - e)) / (2 * e)

    def where(self, f, low, high):
        """The plate angle at which f, positive at the low end, is zero; infinite where it is not."""
        low, high = np.full(self.n, low * DEG), np.full(self.n, high * DEG)
        never, at_once = 0 < f(high), f(low) <= 0
        for _ in range(32):
            middle = (low + high) / 2
            inside = 0 < f(middle)
            low, high = np.where(inside, middle, low), np.where(inside, high, middle)
        return np.where(at_once, low, np.where(never, np.inf, high))

    def target(self):
        trim = 95 + self.d["settling"]
        height = lambda t: self.d["hub"][:, 2] - self.pose(t)(self.d["wheel"])[:, 2]
        th = self.where(lambda t: trim - height(t), 2, 25)
        load = (self.d["corner"] - 36) * G
        return th + (load * -self.slope(self.contact_z, th)
                     - self.d["gas"] * self.slope(self.damper, th)) / self.k

    def now(self):
        return (self.d["gauge"] - self.d["zero"] - self.d["sill"]) * DEG

    def weights(self, th):
        plate = lambda t: self.on_plate(self.d["plate_at"], t)[:, 2]
        arm = lambda t: self.pose(t)(self.d["arm_at"])[:, 2]
        return -G * (2.1 * self.slope(plate, th) + 22 * self.slope(arm, th))

    def moment(self, th, free):
        """What turns the plate tail down, the damper fitted; N·mm."""
        gas = self.d["gas"] * self.slope(self.damper, th)
        return self.k * (free - th) + self.weights(th) + gas

    def room(self, th):
        at = self.d["bolt"]
        uw = self.d["outline"]
        pts = [self.on_plate(uw[:, i], th)[:, [0, 2]] for i in range(uw.shape[1])]
        best, inside = np.full(self.n, np.inf), np.zeros(self.n, bool)
        for a, b in zip(pts, pts[1:] + pts[:1]):
            spans = (a[:, 1] > at[:, 1]) != (b[:, 1] > at[:, 1])
            with np.errstate(divide="ignore", invalid="ignore"):
                x = a[:, 0] + (b[:, 0] - a[:, 0]) * (at[:, 1] - a[:, 1]) / (b[:, 1] - a[:, 1])
            inside ^= spans & (at[:, 0] < x)
            t = np.clip(dot(at - a, b - a) / dot(b - a, b - a), 0, 1)
            best = np.minimum(best, np.linalg.norm(at - a - t[:, None] * (b - a), axis=1))
        return np.where(inside, -best, best)

    def shaft(self, th):
        """What is left of the half-shaft's joints (20 deg each) and of its plunge, in shares."""
        d, carry = self.d, self.pose(th)
        outer = d["wheel"] - d["inboard"][:, None] * self.axle
        run, was = carry(outer) - d["inner"], outer - d["inner"]
        size = np.linalg.norm(run, axis=1)
        between = lambda v: np.arccos(np.clip(dot(run, v) / size, -1, 1)) / (20 * DEG)
        slid = np.abs(size - np.linalg.norm(was, axis=1)) / d["plunge"]
        used = [between(np.array([0, 1.0, 0])), between(carry(self.axle, True)), slid]
        return 1 - np.max(used, axis=0)

    def limits(self):
        """Where everything but the bar's own balance ends the way down."""
        d = self.d
        cord = lambda share, name: lambda t: (
            share * d[name] - self.length(t, name + "_body", name + "_arm"))
        limits = {
            "stop bolt": lambda t: self.room(t) - d["bolt_radius"],
            "damper": lambda t: d["open"] - self.damper(t),
            "hose": cord(0.95, "hose"),
            "cable": cord(0.98, "cable"),
            "half-shaft": self.shaft,
        }
        return {name: self.where(f, 11.5, 44) for name, f in limits.items()}

    def balance(self, free):
        return self.where(lambda t: self.moment(t, free), 11.5, 44)

    def force(self, by, th, free):
        gives = {"stop bolt": lambda t: -self.room(t), "damper": self.damper}[by]
        return self.moment(th, free) / self.slope(gives, th)

    def raised(self, free):
        """The jack's force and its two moments, the arm jacked to where the stop bolt goes in."""
        d = self.d
        th = self.where(lambda t: self.room(t) - d["clearance"], 12, 30)
        jack = lambda t: self.pose(t)(d["jack"])
        bare = self.k * (free - th) + self.weights(th)
        push = bare / -self.slope(lambda t: jack(t)[:, 2], th)
        at = jack(th)
        return np.stack([push, push * at[:, 0], push * at[:, 1]], 1)

    def stand_after(self, raised, heavier):
        """Load on the left rear stand then, under a shell heavier than the demo's by so many kg."""
        weight, at = (self.d["shell"] + heavier) * G, self.d["shell_at"]
        return self.carried(np.stack([weight, weight * at[:, 0], weight * at[:, 1]], 1) - raised)

    @staticmethod
    def carried(total):
        """The left rear stand's part of force and moments: a rigid body on equal springs."""
        m = np.c_[np.ones(4), STANDS]
        return total @ np.linalg.inv(m.T @ m) @ m[2]


def row(case, at, figure, share, values):
    cells = [f"{q:.6f}" for q in np.quantile(values, SHARES)]
    return ",".join([case, at, figure, f"{share:.6f}", *cells])


def droops(lines):
    for case, changes in DROOPS.items():
        cars = Cars(changes)
        limits = cars.limits()
        for at, free in (("target", cars.target()), ("now", cars.now())):
            ends = {**limits, "nothing": cars.balance(free)}
            angles = np.array(list(ends.values()))
            first, least = angles.argmin(axis=0), angles.min(axis=0)
            lines.append(row(case, at, "angle", 1, least / DEG))
            for i, name in enumerate(ends):
                mine = first == i
                if 0.01 <= mine.mean():
                    lines.append(row(case, at, f"first.{name}", mine.mean(), least[mine] / DEG))
                if 0.01 <= mine.mean() and name in ("stop bolt", "damper"):
                    force = cars.force(name, least, free)[mine]
                    lines.append(row(case, at, f"force.{name}", mine.mean(), force))


def stands(lines):
    gain = Cars.carried(np.array([[2 * G, 2 * G * 20, 0.0]]))[0]
    lines.append(row("any", "target", "stand.gain", 1, [gain]))
    cars = Cars({})
    raised = cars.raised(cars.target())
    for mass in SHELLS:
        after = cars.stand_after(raised, mass - 520)
        lines.append(row(f"shell {mass}", "target", "stand.after", 1, after))


def main():
    args = argparse.ArgumentParser()
    args.add_argument("--out", required=True)
    out = pathlib.Path(args.parse_args().out)
    lines = [
        f"# safety_oracle.py, numpy {np.__version__}, {DRAWS} draws",
        "# Independent of the program: see the script that wrote this.",
        "case,at,figure,share," + ",".join(f"q{s:.3f}" for s in SHARES),
    ]
    droops(lines)
    stands(lines)
    out.joinpath("safety.csv").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
