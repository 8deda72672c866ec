"""Writes larch.csv: the demo car's main findings and their spread, by a road of its own.

Independent of the program: rotations by Rodrigues' formula with the second hole found by a root
search, slopes by central differences, uncertainties by drawing every input (JCGM 101:2008) and not
by sensitivities. The figures are typed in here again from the demo's story, not read from its car
file, so a slip in either shows. Run as `python larch_oracle.py --out DIR`.
"""

import argparse
import functools
import pathlib

import numpy as np
import scipy
from scipy.optimize import brentq

G = 9.80665
DEG = np.pi / 180
DRAWS, SEED = 800, 20260


def turn(axis, angle, v):
    k = axis / np.linalg.norm(axis)
    return v * np.cos(angle) + np.cross(k, v) * np.sin(angle) + k * (k @ v) * (1 - np.cos(angle))


def larch():
    """Lengths mm, angles deg, masses kg, forces N."""
    return {
        "hub": [0, 610, 0], "pivot": [-55, 235, -20], "hole1": [250, 6], "hole2": [330, 6],
        "ride": 11.0, "wheel": [-455, 668, -95], "camber": -0.5, "toe": 0.1, "radius": 292,
        "diameter": 23.0, "length": 540, "share": 1.0, "body_eye": [-470, 560, 250],
        "arm_eye": [-525, 590, -110], "gas": 120, "corner": 280, "settling": 3,
        "plate_at": [160, 0], "arm_at": [-400, 590, -100], "jack": [-440, 600, -150],
        "bolt": [-214, -146], "clearance": 14, "closed": 252, "ring": 12,
        "shell": 520, "shell_at": [900, 0],
        "outline": [[-60, 55], [250, 50], [370, 38], [370, -36], [250, -46], [-60, -55]],
    }


# Standard uncertainties of the demo, per coordinate; rectangular ones as half widths. What its file
# says nothing of (masses, their centres, the jack point): common practice, no source.
NORMAL = {
    **dict.fromkeys("hub pivot hole1 hole2 wheel body_eye arm_eye bolt outline".split(), 1.5),
    "plate_at": 10, "arm_at": 15, "jack": 10, "shell": 20, "shell_at": 50,
    "ride": 0.15, "camber": 0.15, "radius": 1, "diameter": 0.03, "length": 1, "share": 0.02,
    "corner": 8, "clearance": 1, "closed": 1, "ring": 0.15,
}
FLAT = {"gas": 20, "settling": 2}


class Car:
    def __init__(self, d):
        self.d = {k: np.asarray(v, float) for k, v in d.items()}
        d = self.d
        self.design = d["ride"] * DEG
        self.h1 = self.on_plate(d["hole1"], self.design)
        self.h2 = self.on_plate(d["hole2"], self.design)
        s = np.array([np.tan(d["toe"] * DEG), 1, -np.tan(d["camber"] * DEG)])
        self.axle = s / np.linalg.norm(s)
        self.k = 78.5e3 * np.pi * d["diameter"] ** 4 / 32 / d["length"] * d["share"]  # N mm / rad

    def on_plate(self, uw, th):
        u, w = uw
        x, y, z = self.d["hub"]
        return np.array([x - u * np.cos(th) - w * np.sin(th), y,
                         z - u * np.sin(th) + w * np.cos(th)])

    def pose(self, th):
        """A function that carries a point (or, with vec, a direction) to this plate angle."""
        a, hub = self.d["pivot"], self.d["hub"]
        r = np.linalg.norm(self.h1 - a)
        p = self.on_plate(self.d["hole1"], th)
        p[1] = a[1] + np.sqrt(r * r - (p[0] - a[0]) ** 2 - (p[2] - a[2]) ** 2)
        a0, a1 = (self.h1 - a) / r, (p - a) / r
        axis = np.cross(a0, a1)
        size = np.linalg.norm(axis)
        angle = np.arctan2(size, a0 @ a1)
        first = (lambda v: turn(axis, angle, v)) if 1e-13 < size else (lambda v: v)
        up = np.array([-np.sin(th), 0, np.cos(th)])
        w2 = self.d["hole2"][1]
        miss = lambda f: (a + turn(a1, f, first(self.h2 - a)) - hub) @ up - w2
        f = brentq(miss, -0.9, 0.9, xtol=1e-13)
        return lambda v, vec=False: turn(a1, f, first(v)) if vec else a + turn(a1, f, first(v - a))

    def wheel_z(self, th):
        return self.pose(th)(self.d["wheel"])[2]

    def contact_z(self, th):
        t = self.pose(th)
        s = t(self.axle, True)
        down = -np.array([0, 0, 1.0]) + s[2] * s
        return t(self.d["wheel"])[2] + self.d["radius"] * down[2] / np.linalg.norm(down)

    def damper(self, th):
        return np.linalg.norm(self.pose(th)(self.d["arm_eye"]) - self.d["body_eye"])

    @staticmethod
    def slope(f, th, e=2e-5):
        return (f(th + e) - f(th - e)) / (2 * e)

    def free_for(self, th):
        load = (self.d["corner"] - 36) * G
        return th + (load * -self.slope(self.contact_z, th)
                     - self.d["gas"] * self.slope(self.damper, th)) / self.k

    def trim_to_angle(self, trim):
        return brentq(lambda t: self.d["hub"][2] - self.wheel_z(t) - trim, 0, 30 * DEG, xtol=1e-12)

    @functools.cache
    def target(self):
        return self.free_for(self.trim_to_angle(95 + self.d["settling"]))

    def trim_at(self, free):
        th = brentq(lambda t: self.free_for(t) - free, -8 * DEG, 30 * DEG, xtol=1e-11)
        return self.d["hub"][2] - self.wheel_z(th) - self.d["settling"]

    def weights(self, th):
        plate = lambda t: self.on_plate(self.d["plate_at"], t)[2]
        arm = lambda t: self.pose(t)(self.d["arm_at"])[2]
        return -G * (2.1 * self.slope(plate, th) + 22 * self.slope(arm, th))

    def hang(self, free):
        f = lambda t: self.k * (free - t) + self.weights(t)
        return brentq(f, free - 2 * DEG, free + 5 * DEG, xtol=1e-12)

    def room(self, th):
        """Distance from the bolt's centre to the nearest edge; negative where the plate covers it."""
        at = self.d["bolt"]
        pts = [self.on_plate(uw, th)[[0, 2]] for uw in self.d["outline"]]
        best, inside = np.inf, False
        for a, b in zip(pts, pts[1:] + pts[:1]):
            if (a[1] > at[1]) != (b[1] > at[1]):
                inside ^= at[0] < a[0] + (b[0] - a[0]) * (at[1] - a[1]) / (b[1] - a[1])
            t = np.clip((at - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1)
            best = min(best, np.linalg.norm(at - a - t * (b - a)))
        return -best if inside else best

    @functools.cache
    def clear(self):
        return brentq(lambda t: self.room(t) - self.d["clearance"], 10 * DEG, 28 * DEG, xtol=1e-12)

    def jack(self, free):
        th = self.clear()
        z = lambda t: self.pose(t)(self.d["jack"])[2]
        return (self.k * (free - th) + self.weights(th)) / -self.slope(z, th)

    def stand_after(self, free):
        x, y, _ = self.pose(self.clear())(self.d["jack"])
        push = self.jack(free)
        stands = np.array([[1500, 480], [1500, -480], [20, 450], [20, -450.0]])
        m = np.c_[np.ones(4), stands]
        weight, at = self.d["shell"] * G, self.d["shell_at"]
        total = np.array([weight - push, weight * at[0] - push * x, weight * at[1] - push * y])
        return (m @ np.linalg.solve(m.T @ m, total))[2]

    def full_bump(self):
        length = self.d["closed"] + 7 * self.d["ring"] * 0.5
        return brentq(lambda t: self.damper(t) - length, -8 * DEG, 15 * DEG, xtol=1e-12)

    def shear(self, th):
        """Once settled: in balance with the load at the manual's trim."""
        d = self.d["diameter"]
        settled = self.free_for(self.trim_to_angle(95))
        return self.k * (settled - th) * d / 2 / (np.pi * d**4 / 32)


FIGURES = {
    "free_target_deg": lambda c: c.target() / DEG,
    "trim_at_manual_mm": lambda c: c.trim_at(30 * DEG),
    "trim_step_mm": lambda c: c.trim_at(c.target() + 180 / 798 * DEG)
    - c.trim_at(c.target() - 180 / 798 * DEG),
    "hang_arm_target_deg": lambda c: c.hang(c.target()) / DEG,
    "stop_bolt_clear_deg": lambda c: c.clear() / DEG,
    "jack_target_n": lambda c: c.jack(c.target()),
    "jack_now_left_n": lambda c: c.jack(34.9 * DEG),
    "stand_after_target_n": lambda c: c.stand_after(c.target()),
    "shear_ride_mpa": lambda c: c.shear(c.trim_to_angle(95)),
    "shear_full_bump_mpa": lambda c: c.shear(c.full_bump()),
    "ride_stick_mm": lambda c: c.damper(c.trim_to_angle(95)),
}


def draw(rng):
    d = larch()
    for key, u in NORMAL.items():
        v = np.asarray(d[key], float)
        d[key] = v + rng.normal(0, u, v.shape)
    for key, half in FLAT.items():
        d[key] = d[key] + rng.uniform(-half, half)
    return Car(d)


def main():
    args = argparse.ArgumentParser()
    args.add_argument("--out", required=True)
    out = pathlib.Path(args.parse_args().out)
    rng = np.random.default_rng(SEED)
    car = Car(larch())
    drawn = [[f(c) for f in FIGURES.values()] for c in (draw(rng) for _ in range(DRAWS))]
    spread = np.std(drawn, axis=0, ddof=1)
    lines = [
        f"# larch_oracle.py, numpy {np.__version__}, scipy {scipy.__version__}, {DRAWS} draws",
        "# Independent of the program: see the script that wrote this.",
        "figure,value,u_drawn",
    ]
    for (name, f), u in zip(FIGURES.items(), spread):
        lines.append(f"{name},{f(car):.6f},{u:.6f}")
    out.joinpath("larch.csv").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
