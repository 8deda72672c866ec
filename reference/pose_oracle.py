"""Writes arms.csv and poses.csv: rigid-arm poses from a constraint solver.

Independently formulated (see arm_model.py): six unknowns under six constraints, solved by SciPy;
the program's closed form is used nowhere. Run as `python pose_oracle.py --out DIR`.
"""

import argparse
import pathlib

import numpy as np
import scipy
from arm_model import ARMS, Arm, write

VERSIONS = f"pose_oracle.py, numpy {np.__version__}, scipy {scipy.__version__}"
SHIFTS = [(0, 0), (4, 0), (-3, 0), (0, 4), (0, -2.5), (-4, 4)]
ANGLES = {"larch": (-30, -10, 0, 4, 11, 18, 26, 35, 50), "stub": (-18, -9, 0, 4, 13, 24, 38),
          "reed": (-12, 0, 8, 16, 23, 34, 46)}


def arms_table():
    for name, d in ARMS.items():
        for key, value in d.items():
            values = np.ravel(value)
            yield [name, key, *(float(v) for v in values), *[""] * (12 - len(values))]


def poses_table():
    for name in ARMS:
        arm = Arm(name)
        for angle in ANGLES[name]:
            for du, dw in SHIFTS:
                pose = arm.pose(angle, du, dw)
                yield [name, angle, du, dw, *pose.wheel(), *pose.contact(), *pose.camber_toe(),
                       *pose.bend(), *pose.carry(arm.d["jack"])]


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=pathlib.Path, default=pathlib.Path(__file__).parent)
    out = parser.parse_args().out
    write(out / "arms.csv", VERSIONS, ["arm", "key", *[f"v{n}" for n in range(1, 13)]],
          arms_table())
    header = ["arm", "angle_deg", "du_mm", "dw_mm", "wheel_x", "wheel_y", "wheel_z", "contact_x",
              "contact_y", "contact_z", "camber_deg", "toe_deg", "bend_front", "bend_rear",
              "jack_x", "jack_y", "jack_z"]
    write(out / "poses.csv", VERSIONS, header, poses_table())


if __name__ == "__main__":
    main()
