"""Writes loads.csv and windows.csv: rest angles by least potential energy, forces by its slope,
windows by dense scan.

Independently formulated (see arm_model.py): poses come from the constraint solver; a rest is the
least of ½k(θ₀ − θ)² − P·ℓ − F·z (or + m·g·z for what hangs), found by a bounded search and
refined to where the energy's difference quotient is zero; a force on a part is the energy's slope
along that part's own motion. Virtual work, as the program uses it, appears nowhere. Run as
`python load_oracle.py --out DIR`.
"""

import argparse
import math
import pathlib

import numpy as np
import scipy
from arm_model import ARMS, GRAVITY, Arm, slope, write
from scipy.optimize import brentq, minimize_scalar

VERSIONS = f"load_oracle.py, numpy {np.__version__}, scipy {scipy.__version__}"
STEP = math.radians(1.0)


class Corner:
    """Energies in joules over the plate angle in radians."""

    def __init__(self, name):
        self.arm = Arm(name)
        self.d, self.poses = self.arm.d, {}

    def pose(self, angle):
        """Continues from the nearest pose already solved."""
        degrees = math.degrees(angle)
        if degrees not in self.poses:
            close = min(self.poses, key=lambda a: abs(a - degrees), default=None)
            if close is not None and abs(close - degrees) < 1.5:
                self.poses[degrees] = self.arm.near(degrees, self.poses[close])
            else:
                self.poses[degrees] = self.arm.pose(degrees)
        return self.poses[degrees]

    def bar(self, free):
        return lambda a: 0.5 * self.arm.rate * (free - a) ** 2

    def gas(self):
        d = self.d
        return lambda a: -d["gas"] * 1e-3 * self.pose(a).span(d["damper_body"], d["damper_arm"])

    def load(self, force):
        return lambda a: -force * 1e-3 * self.pose(a).contact()[2]

    def plate_weight(self):
        weight, (u, w) = self.d["plate_mass"] * GRAVITY, self.d["plate_com"]
        return lambda a: weight * 1e-3 * (self.arm.hub[2] - u * math.sin(a) + w * math.cos(a))

    def arm_weight(self):
        weight = self.d["arm_mass"] * GRAVITY
        return lambda a: weight * 1e-3 * self.pose(a).carry(self.d["arm_com"])[2]

    def reach(self):
        return [math.radians(a) for a in self.d["reach"]]


def total(*energies):
    return lambda a: sum(e(a) for e in energies)


def least(energy, low, high):
    """The angle of least energy: a bounded search, then where the difference quotient is zero."""
    near = minimize_scalar(energy, bounds=(low, high), method="bounded",
                           options=dict(xatol=1e-5)).x
    # The nine-point difference is exact to its own rounding at this step.
    force = lambda a: slope(energy, a, STEP)
    return brentq(force, near - 2e-3, near + 2e-3, xtol=1e-13)


def loads_table():
    for name, d in ARMS.items():
        c = Corner(name)
        low, high = c.reach()
        low, high = low + 4.5 * STEP, high - 4.5 * STEP
        for free_deg in (d["angle"] + 12, d["angle"] + 15, d["angle"] + 18):
            free = math.radians(free_deg)
            spring = total(c.bar(free), c.gas())
            ride = least(total(spring, c.load(d["load"])), low, high)
            z = lambda a: c.pose(a).contact()[2]
            force = lambda a: -slope(spring, a, STEP) / slope(z, a, STEP) * -1e3
            rate = slope(force, ride, STEP) / slope(z, ride, STEP)
            plate = least(total(c.bar(free), c.plate_weight()), free - 0.1, free + 0.1)
            in_air = total(c.bar(free), c.plate_weight(), c.arm_weight())
            hang = least(in_air, low, high)
            jack = lambda a: c.pose(a).carry(d["jack"])[2]
            raised = hang - math.radians(7)
            push = slope(in_air, raised, STEP) / slope(jack, raised, STEP) * 1e3
            lift = jack(raised) - jack(hang)
            trim = float(c.arm.hub[2] - c.pose(ride).wheel()[2])
            yield [name, free_deg, math.degrees(ride), trim, rate, math.degrees(plate), math.degrees(hang), math.degrees(raised), lift, push]


def edges(reserve, low_deg, high_deg):
    """Runs of plate angle with reserve >= 0, by a scan every 0.2° and a root search between."""
    grid = np.linspace(low_deg, high_deg, round((high_deg - low_deg) / 0.2) + 1)
    values = [reserve(a) for a in grid]
    runs, start = [], (math.nan if values[0] >= 0 else None)
    for a, b, fa, fb in zip(grid, grid[1:], values, values[1:]):
        if (fa >= 0) == (fb >= 0):
            continue
        at = brentq(reserve, a, b, xtol=1e-12)
        if fb >= 0:
            start = at
        else:
            runs.append((start, at))
            start = None
    return runs if start is None else [*runs, (start, math.nan)]


def windows_table():
    for name, d in ARMS.items():
        c = Corner(name)
        at = lambda a: c.pose(math.radians(a))
        damper = lambda a: at(a).span(d["damper_body"], d["damper_arm"])
        reserves = {
            "bolt-keep": lambda a: at(a).clearance() - d["keep"],
            "bolt-rest": lambda a: at(a).clearance() - d["bolt_radius"],
            "damper-rings": lambda a: damper(a) - d["closed"] - d["rings"],
            "damper-open": lambda a: d["open"] - damper(a),
            "hose": lambda a: d["hose_longest"] - at(a).span(d["hose_body"], d["hose_arm"]),
            "bend-front": lambda a: d["bend"] - abs(at(a).bend()[0]),
            "bend-rear": lambda a: d["bend"] - abs(at(a).bend()[1]),
            "joint-inner": lambda a: d["joint"] - at(a).shaft()[0],
            "joint-outer": lambda a: d["joint"] - at(a).shaft()[1],
            "plunge": lambda a: d["plunge"] - abs(at(a).shaft()[2]),
        }
        for what, reserve in reserves.items():
            for n, (start, end) in enumerate(edges(reserve, *d["reach"])):
                cell = lambda x: "open" if math.isnan(x) else float(x)
                yield [name, what, str(n), cell(start), cell(end)]


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=pathlib.Path, default=pathlib.Path(__file__).parent)
    out = parser.parse_args().out
    write(out / "loads.csv", VERSIONS,
          ["arm", "free_deg", "ride_deg", "trim_mm", "wheel_rate_n_per_mm", "hang_plate_deg",
           "hang_arm_deg", "raised_deg", "lift_mm", "jack_n"], loads_table())
    write(out / "windows.csv", VERSIONS, ["arm", "what", "run", "from_deg", "to_deg"],
          windows_table())


if __name__ == "__main__":
    main()
