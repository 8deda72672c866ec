"""The peers in `cargo bench -p axlewright-mechanics --bench pose`.

Reads from standard input, in metres and radians: a line with the arm's design, then one line per
pose with plate angle and both shifts. Solves the same poses with SciPy's root finder, one after
another (the first few hundred of them), and with the closed form over whole NumPy arrays. Prints
one line per way: its name, nanoseconds per pose, how many poses, and the mean of every output
over the first few hundred, by which the caller sees that the same poses came out.

Not a reference for correctness (that is pose_oracle.py): the closed form here is the same
algebra as the program's.
"""

import math
import sys
import time

import numpy as np
import scipy
from scipy.optimize import root
from scipy.spatial.transform import Rotation

FEW = 300
BLOCK = 4096


def read_job():
    n = [float(t) for t in sys.stdin.readline().split()]
    d = {"hub": n[0:3], "pivot": n[3:6], "holes": [n[6:8], n[8:10]], "angle": n[10],
         "wheel": n[11:14], "camber": n[14], "toe": n[15], "radius": n[16]}
    rows = np.array([[float(t) for t in line.split()] for line in sys.stdin])
    return d, rows.T.copy()


def median_ns(run, per_run, times):
    taken = []
    for _ in range(times):
        start = time.process_time_ns()
        run()
        taken.append((time.process_time_ns() - start) / per_run)
    return sorted(taken)[len(taken) // 2]


def holes_at_design(d):
    s, c = math.sin(d["angle"]), math.cos(d["angle"])
    hub = np.array(d["hub"])
    return [hub + np.array([-u * c - w * s, 0.0, -u * s + w * c]) for u, w in d["holes"]]


def axle(d):
    s = np.array([math.tan(d["toe"]), 1.0, -math.tan(d["camber"])])
    return s / np.linalg.norm(s)


class RootFinding:
    """Three turns of the arm such that the bolts sit in their holes: Powell's hybrid method from
    the design pose, to SciPy's default tolerance."""

    def __init__(self, d):
        self.hub, self.pivot = np.array(d["hub"]), np.array(d["pivot"])
        self.front, self.rear = (h - self.pivot for h in holes_at_design(d))
        self.wheel = np.array(d["wheel"]) - self.pivot
        self.axle, self.radius = axle(d), d["radius"]
        (self.u, self.w), (_, self.w_rear) = d["holes"]

    def pose(self, angle, du, dw):
        s, c = math.sin(angle), math.cos(angle)
        along, up = np.array([-c, 0.0, -s]), np.array([-s, 0.0, c])
        to_hub = self.pivot - self.hub

        def off(v):
            turn = Rotation.from_rotvec(v).as_matrix()
            front, rear = turn @ self.front + to_hub, turn @ self.rear + to_hub
            return [front @ along - self.u - du, front @ up - self.w - dw,
                    rear @ up - self.w_rear - dw]

        turn = Rotation.from_rotvec(root(off, np.zeros(3)).x).as_matrix()
        wheel, ax = self.pivot + turn @ self.wheel, turn @ self.axle
        flat = math.hypot(ax[0], ax[1])
        low = np.array([ax[2] * ax[0] / flat, ax[2] * ax[1] / flat, -flat])
        contact = wheel + low * self.radius
        bend = [(turn @ h + to_hub)[1] for h in (self.front, self.rear)]
        return [*wheel, *contact, -math.atan2(ax[2], ax[1]), math.atan2(ax[0], ax[1]), *bend]


class PlainRootFinding(RootFinding):
    """The same with the residual in plain Python floats: the least overhead we found for a
    callback of three numbers."""

    def pose(self, angle, du, dw):
        s, c = math.sin(angle), math.cos(angle)
        hx, hz = (self.pivot - self.hub)[[0, 2]].tolist()
        (fx, fy, fz), (rx, ry, rz) = self.front.tolist(), self.rear.tolist()
        u, w, w_rear = self.u + du, self.w + dw, self.w_rear + dw

        def matrix(v):
            x, y, z = v
            t = math.sqrt(x * x + y * y + z * z)
            a = math.sin(t) / t if t > 1e-9 else 1.0
            b = (1.0 - math.cos(t)) / (t * t) if t > 1e-9 else 0.5
            return ((1 - b * (y * y + z * z), b * x * y - a * z, b * x * z + a * y),
                    (b * x * y + a * z, 1 - b * (x * x + z * z), b * y * z - a * x),
                    (b * x * z - a * y, b * y * z + a * x, 1 - b * (x * x + y * y)))

        def off(v):
            (m, n, o), _, (p, q, r) = matrix(v.tolist())
            x1, z1 = m * fx + n * fy + o * fz + hx, p * fx + q * fy + r * fz + hz
            x2, z2 = m * rx + n * ry + o * rz + hx, p * rx + q * ry + r * rz + hz
            return (-c * x1 - s * z1 - u, -s * x1 + c * z1 - w, -s * x2 + c * z2 - w_rear)

        turn = np.array(matrix(root(off, (0.0, 0.0, 0.0)).x.tolist()))
        wheel, ax = self.pivot + turn @ self.wheel, turn @ self.axle
        flat = math.hypot(ax[0], ax[1])
        low = np.array([ax[2] * ax[0] / flat, ax[2] * ax[1] / flat, -flat])
        contact = wheel + low * self.radius
        bend = [(turn[1] @ h) + self.pivot[1] - self.hub[1] for h in (self.front, self.rear)]
        return [*wheel, *contact, -math.atan2(ax[2], ax[1]), math.atan2(ax[0], ax[1]), *bend]


class ClosedForm:
    """The closed form over arrays, one array per component: no (n, 3) temporaries, no einsum."""

    def __init__(self, d):
        self.d = d
        self.hub, self.pivot = d["hub"], d["pivot"]
        front, rear = (h - np.array(d["pivot"]) for h in holes_at_design(d))
        self.reach = float(np.linalg.norm(front))
        e1 = front / self.reach
        self.along = float(e1 @ rear)
        aside = rear - self.along * e1
        self.across = float(np.linalg.norm(aside))
        e2 = aside / self.across
        normal = np.array([-math.sin(d["angle"]), 0.0, math.cos(d["angle"])])
        self.branch = math.copysign(1.0, float(e2 @ np.cross(e1, normal)))
        frame = np.array([e1, e2, np.cross(e1, e2)])
        # The wheel in the arm's own frame: no turn matrix is needed.
        self.wheel = (frame @ (np.array(d["wheel"]) - np.array(d["pivot"]))).tolist()
        self.axle = (frame @ axle(d)).tolist()

    def poses(self, angle, du, dw):
        (u, w), (_, w_rear) = self.d["holes"]
        s, c = np.sin(angle), np.cos(angle)
        u, w_front = u + du, w + dw
        x = (self.hub[0] - self.pivot[0]) - u * c - w_front * s
        z = (self.hub[2] - self.pivot[2]) - u * s + w_front * c
        per = 1.0 / self.reach
        ex, ey, ez = x * per, np.sqrt(self.reach**2 - x * x - z * z) * per, z * per
        lean = c * ez - s * ex
        room = 1.0 - lean * lean
        k = (w_rear - w + lean * (self.reach - self.along)) / self.across
        swing = self.branch * np.sqrt(room - k * k) / room
        k = k / room
        fx = k * (-s - lean * ex) + swing * (ey * c)
        fy = k * (-lean * ey) + swing * (-ez * s - ex * c)
        fz = k * (c - lean * ez) + swing * (ey * s)
        gx, gy, gz = ey * fz - ez * fy, ez * fx - ex * fz, ex * fy - ey * fx
        a, b, g = self.wheel
        wx = self.pivot[0] + a * ex + b * fx + g * gx
        wy = self.pivot[1] + a * ey + b * fy + g * gy
        wz = self.pivot[2] + a * ez + b * fz + g * gz
        a, b, g = self.axle
        sx, sy, sz = (a * ex + b * fx + g * gx, a * ey + b * fy + g * gy, a * ez + b * fz + g * gz)
        flat = np.sqrt(sx * sx + sy * sy)
        r = self.d["radius"]
        tilt = r * sz / flat
        bend_front = self.pivot[1] - self.hub[1] + self.reach * ey
        bend_rear = self.pivot[1] - self.hub[1] + self.along * ey + self.across * fy
        return [wx, wy, wz, wx + tilt * sx, wy + tilt * sy, wz - r * flat,
                -np.arctan2(sz, sy), np.arctan2(sx, sy), bend_front, bend_rear]


class WholeVectors:
    """The closed form as it is commonly written: arrays of shape (n, 3), `cross`, `einsum`."""

    def __init__(self, d):
        self.flat = ClosedForm(d)

    def poses(self, angle, du, dw):
        f, d = self.flat, self.flat.d
        (u, w), (_, w_rear) = d["holes"]
        hub, pivot = np.array(f.hub), np.array(f.pivot)
        zero = np.zeros_like(angle)
        along = np.stack([-np.cos(angle), zero, -np.sin(angle)], axis=1)
        up = np.stack([-np.sin(angle), zero, np.cos(angle)], axis=1)
        arm = hub - pivot + (u + du)[:, None] * along + (w + dw)[:, None] * up
        arm[:, 1] = np.sqrt(f.reach**2 - arm[:, 0] ** 2 - arm[:, 2] ** 2)
        e = arm / f.reach
        lean = np.einsum("ij,ij->i", up, e)
        room = 1.0 - lean**2
        k = (w_rear - w + lean * (f.reach - f.along)) / f.across
        swing = f.branch * np.sqrt(room - k**2)
        second = ((k / room)[:, None] * (up - lean[:, None] * e)
                  + (swing / room)[:, None] * np.cross(e, up))
        frame = np.stack([e, second, np.cross(e, second)], axis=1)
        wheel = pivot + np.einsum("nij,i->nj", frame, np.array(f.wheel))
        axle_now = np.einsum("nij,i->nj", frame, np.array(f.axle))
        flat = np.hypot(axle_now[:, 0], axle_now[:, 1])
        low = np.stack([axle_now[:, 2] * axle_now[:, 0] / flat,
                        axle_now[:, 2] * axle_now[:, 1] / flat, -flat], axis=1)
        contact = wheel + d["radius"] * low
        bend_front = pivot[1] - hub[1] + f.reach * e[:, 1]
        bend_rear = pivot[1] - hub[1] + f.along * e[:, 1] + f.across * second[:, 1]
        return [*wheel.T, *contact.T, -np.arctan2(axle_now[:, 2], axle_now[:, 1]),
                np.arctan2(axle_now[:, 0], axle_now[:, 1]), bend_front, bend_rear]


def main():
    design, (angle, du, dw) = read_job()
    few = list(zip(*(a[:FEW].tolist() for a in (angle, du, dw))))

    def say(name, ns, count, means):
        print(name, repr(float(ns)), count, *(repr(float(m)) for m in means))

    print("versions", sys.version.split()[0], np.__version__, scipy.__version__)
    for name, solver in (("scipy", RootFinding), ("scipy-plain", PlainRootFinding)):
        one = solver(design)
        means = np.mean([one.pose(*p) for p in few], axis=0)
        say(name, median_ns(lambda: [one.pose(*p) for p in few], len(few), 5), len(few), means)
    blocks = [(angle[i:i + BLOCK], du[i:i + BLOCK], dw[i:i + BLOCK])
              for i in range(0, len(angle), BLOCK)]
    for name, form in (("numpy", WholeVectors(design)), ("numpy-flat", ClosedForm(design))):
        means = [np.mean(a[:FEW]) for a in form.poses(angle, du, dw)]
        ns = median_ns(lambda: form.poses(angle, du, dw), len(angle), 15)
        say(name, ns, len(angle), means)
        # Blocks that stay in the cache: the kindest size for NumPy.
        ns = median_ns(lambda: [form.poses(*b) for b in blocks], len(angle), 15)
        say(name + "-blocks", ns, len(angle), means)


if __name__ == "__main__":
    main()
