"""Writes wheels.csv: what the demo car reads on its wheels, by least potential energy.

Independent of the program: the corner is larch_oracle.py's (rotations by Rodrigues' formula, root
searches), the whole car is one energy in height, two leans and two plate angles, and a rest is
where its difference quotients vanish. The figures are typed in here again from the demo's story.
The teeth are those of the demo's first fit: left 34.9 degrees and one tooth of 42 at the plate tail
up, right 26.8 degrees and one vernier step of 360/798 degrees tail up. Run as `python wheels_oracle.py --out DIR`.
"""

import argparse
import pathlib

import numpy as np
import scipy
from larch_oracle import DEG, Car, G, larch
from scipy.optimize import root

FREE = {"L": (34.9 - 360 / 42) * DEG, "R": (26.8 - 360 / 798) * DEG}
FRONT = {"x": 1845.0, "y": 645.0, "rate": 15.5, "weight": 212.5, "unsprung": 32.0}
REAR = {"tyre": 190.0, "weight": 280.0, "unsprung": 36.0, "settling": 3.0}
STAGES = {
    "shell": [476, 900, 0], "engine": [165, -480, 0], "fuel": [18, 1750, 0],
    "doors": [190, 333, 0],
}
DRIVER = [75, 800, 350]
ARM = Car(larch())


def lowest(th, n):
    """Lowest point of the left rear tyre over the body's origin, along n; and the wheel's centre."""
    carry = ARM.pose(th)
    centre, axle = carry(ARM.d["wheel"]), carry(ARM.axle, True)
    return centre @ n - ARM.d["radius"] * np.sqrt(1 - (axle @ n) ** 2), centre, axle


def contact(th):
    """Where that point is, body level."""
    carry = ARM.pose(th)
    axle = carry(ARM.axle, True)
    down = np.array([0, 0, -1.0]) + axle[2] * axle
    return carry(ARM.d["wheel"]) + ARM.d["radius"] * down / np.linalg.norm(down)


RIDE = ARM.trim_to_angle(95)
DESIGN = contact(RIDE)


def by_weights():
    """Each spring's load at its contact: mass, X, Y."""
    rows = []
    for side in (1, -1):
        rows.append([FRONT["weight"] - FRONT["unsprung"], FRONT["x"], side * FRONT["y"]])
        rows.append([REAR["weight"] - REAR["unsprung"], DESIGN[0], side * DESIGN[1]])
    return rows


def rest(rows):
    mass = sum(row[0] for row in rows)
    centre = [sum(row[0] * row[i] for row in rows) / mass for i in (1, 2)]
    preload = (FRONT["weight"] - FRONT["unsprung"]) * G

    def up(nx, ny):
        return np.array([nx, ny, np.sqrt(1 - nx * nx - ny * ny)])

    def front(h, n, side):
        """Bump of a front wheel whose contact stays on the floor."""
        return -(h + n[0] * FRONT["x"] + n[1] * side * FRONT["y"]) / n[2] - DESIGN[2]

    def gap(h, n, side, th):
        return h + lowest(th, n * np.array([1, side, 1]))[0]

    def energy(x):
        h, n = x[0], up(x[1] * 1e-3, x[2] * 1e-3)
        total = mass * G * (h + n[0] * centre[0] + n[1] * centre[1])
        for side, th, free in ((1, x[3], FREE["L"]), (-1, x[4], FREE["R"])):
            f = front(h, n, side)
            total += preload * f + FRONT["rate"] * f * f / 2
            g = gap(h, n, side, th)
            total += REAR["tyre"] / 2 * (g - REAR["weight"] * G / REAR["tyre"]) ** 2
            total += REAR["unsprung"] * G * g
            total += ARM.k / 2 * (free - th) ** 2 - ARM.d["gas"] * ARM.damper(th)
        return total

    steps = np.array([1e-2, 1e-2, 1e-2, 1e-4, 1e-4])

    def slope(x):
        out = []
        for i, step in enumerate(steps):
            e = np.zeros(5)
            e[i] = step
            four = 8 * (energy(x + e) - energy(x - e)) - energy(x + 2 * e) + energy(x - 2 * e)
            out.append(four / (12 * step))
        return np.array(out) / [1.0, 1.0, 1.0, 400.0, 400.0]

    found = root(slope, [-DESIGN[2], 0, 0, RIDE, RIDE], tol=1e-10)
    x = found.x
    assert np.abs(slope(x)).max() < 2e-3, (found.message, slope(x))
    h, n = x[0], up(x[1] * 1e-3, x[2] * 1e-3)
    read = {}
    for name, side, th in (("L", 1, x[3]), ("R", -1, x[4])):
        f = front(h, n, side)
        along = preload + FRONT["rate"] * f
        read[name + "F"] = along / n[2] / G + FRONT["unsprung"]
        read[name + "R"] = REAR["weight"] - REAR["tyre"] * gap(h, n, side, th) / G
        tilted = n * np.array([1, side, 1])
        read["trim " + name] = (ARM.d["hub"] - lowest(th, tilted)[1]) @ tilted
        read["plate " + name] = th / DEG
    total = sum(read[w] for w in ("LF", "RF", "LR", "RR"))
    read["cross"] = (read["RF"] + read["LR"]) / total
    return read


def main():
    args = argparse.ArgumentParser()
    args.add_argument("--out", required=True)
    out = pathlib.Path(args.parse_args().out)
    stages = list(STAGES.values())
    cases = {
        "finished": by_weights(),
        "driver": by_weights() + [DRIVER],
        "shell": stages[:1],
        "engine and gearbox": stages[:2],
    }
    lines = [
        f"# wheels_oracle.py, numpy {np.__version__}, scipy {scipy.__version__}",
        "# Independent of the program: see the script that wrote this.",
        "case,figure,value",
    ]
    for case, rows in cases.items():
        for figure, value in rest(rows).items():
            lines.append(f"{case},{figure},{value:.4f}")
    out.joinpath("wheels.csv").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
