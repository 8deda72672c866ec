"""Other roads to what photographs say: poses and points by OpenCV, and the whole adjustment by SciPy.

Shares nothing with the program but the statement of the sheets (the SVG in `sheets/`) and of the
cost. Cameras are those of `photo_render.py`.

photo_corners.csv  corners of tags as each case's photographs show them
photo_taps.csv     points tapped in them
photo_poses.csv    noise-free, lens held: sheet to camera by solvePnP, rotation vector and shift
photo_points.csv   the same: points by triangulation from those poses
photo_fits.csv     with noise, lens and bends free: value and standard uncertainty by least squares

The cost of photo_fits.csv, every term over its standard deviation:
  corners (0.05 px): lens(R (S (s1 x, s2 y, a (xi^2 - 1/3) + b (eta^2 - 1/3)) + d) + t) - seen
  taps (0.5 px): lens(R P + t) - seen; points in a sheet's plane: z there 0 within 0.1 mm
  focal length against the equivalent one within 4 %, its change from picture to picture 0.2 %,
  centre 0.5 % of the diagonal, k1 and k2 0.1, bends a and b 0.2 mm,
  scales s1 and s2 0.7 in 1000 each
"""

import argparse
import math
import pathlib

import cv2
import numpy as np
import scipy
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

import photo_render as render

HERE = pathlib.Path(__file__).parent
SIZE = (4000, 3000)
DIAGONAL = math.hypot(*SIZE)
CASES = 4
CORNER_U, TAP_U, OFF_PLANE_U = 0.05, 0.5, 0.1
SIDES = {'body-a4': 40.0, 'plate-a4': 28.0}
SIGNS = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) / 2


def printed(sheet):
    """Corners of every tag that was not cut off, as printed."""
    rows = {}
    for tag, middle in sheet.tags.items():
        corners = middle + SIDES[sheet.name] * SIGNS
        if (corners >= np.array(sheet.low) - 1e-9).all() and (corners <= sheet.high).all():
            rows[tag] = corners
    return rows


def case(number, noisy):
    rng = np.random.default_rng([19, number, noisy])
    sheets = render.load_sheets(HERE / 'sheets')
    scene = render.random_scene(rng, sheets)
    if not noisy:
        for placed in scene.placed.values():
            placed.scale, placed.bend = (1.0, 1.0), (0.0, 0.0)
    lens = render.random_lens(rng, SIZE)
    target = np.array([190.0, 60.0, 0.0])
    cameras = []
    for turn in (0.4, 2.4, 4.6)[: 2 + number % 2]:
        d = np.array([math.sin(turn) * 0.5, math.cos(turn) * 0.4, 0.85])
        eye = target + rng.uniform(1000, 1500) * d / np.linalg.norm(d)
        f = lens['f'] * (1 + (rng.normal(0, 0.002) if noisy else 0))
        rotation = render.looking(eye, target + rng.normal(0, 25, 3), rng.normal(0, 0.1))
        cameras.append(render.Camera(SIZE, f, lens['centre'], lens['k'], rotation, eye,
                                     lens['exif35']))
    corners, taps = [], []
    for shot, camera in enumerate(cameras):
        for name, placed in scene.placed.items():
            for tag, at in printed(placed.sheet).items():
                seen = camera.project(placed.world(*at.T))
                seen += rng.normal(0, CORNER_U, seen.shape) if noisy else 0
                corners += [(shot, name, tag, n, *at[n], *seen[n]) for n in range(4)]
        for name in [*scene.plane, *scene.space]:
            p = camera.project(scene.point(name))[0]
            if (p > 0).all() and (p < np.array(SIZE) - 1).all():
                x, y = p + (rng.normal(0, TAP_U, 2) if noisy else 0)
                taps.append((shot, name, scene.plane[name][0] if name in scene.plane else '', x, y))
    often = [tap[1] for tap in taps if not tap[2]]
    taps = [tap for tap in taps if tap[2] or 1 < often.count(tap[1])]
    return scene, lens, cameras, corners, taps


def by_opencv(number):
    scene, lens, cameras, corners, taps = case(number, False)
    matrix = np.array([[lens['f'], 0, lens['centre'][0]], [0, lens['f'], lens['centre'][1]],
                       [0, 0, 1.0]])
    bent = np.array([*lens['k'], 0.0, 0.0])
    poses, found = [], []
    body = {}
    for shot in range(len(cameras)):
        for name in scene.placed:
            rows = [c for c in corners if c[0] == shot and c[1] == name]
            on = np.array([[c[4], c[5], 0.0] for c in rows])
            seen = np.array([[c[6], c[7]] for c in rows])
            _, turn, shift = cv2.solvePnP(on, seen, matrix, bent, flags=cv2.SOLVEPNP_ITERATIVE)
            turn, shift = cv2.solvePnPRefineLM(
                on, seen, matrix, bent, turn, shift,
                (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 200, 1e-16))
            poses.append((number, shot, name, *turn.ravel(), *shift.ravel()))
            if name == 'body-a4':
                body[shot] = np.hstack([cv2.Rodrigues(turn)[0], shift])
    for name in {tap[1] for tap in taps if not tap[2]}:
        rows = [tap for tap in taps if tap[1] == name][:2]
        until = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 200, 1e-16)
        straight = [cv2.undistortPoints(np.array([[[tap[3], tap[4]]]]), matrix, bent,
                                        criteria=until).reshape(2, 1) for tap in rows]
        p = cv2.triangulatePoints(body[rows[0][0]], body[rows[1][0]], *straight).ravel()
        found.append((number, name, *(p[:3] / p[3])))
    return lens, corners, taps, poses, sorted(found)


class Fit:
    """The cost, its unknowns one after the other; derivatives by differences."""

    def __init__(self, scene, lens, cameras, corners, taps):
        self.corners, self.taps = corners, taps
        self.names = list(scene.placed)
        self.photos = len(cameras)
        self.f0 = lens['exif35'] / math.hypot(36, 24) * DIAGONAL
        self.half, self.middle = {}, {}
        for name, placed in scene.placed.items():
            at = np.concatenate(list(printed(placed.sheet).values()))
            self.middle[name] = (at.min(axis=0) + at.max(axis=0)) / 2
            self.half[name] = (at.max(axis=0) - at.min(axis=0)) / 2
        self.points = sorted({tap[1] for tap in taps})
        self.on = {tap[1]: tap[2] for tap in taps}
        start = [lens['f'], *lens['centre'], *lens['k']] + [0.0] * self.photos
        for camera in cameras:
            start += [*Rotation.from_matrix(camera.rotation).as_rotvec(),
                      *(-camera.rotation @ camera.eye)]
        plate = scene.placed['plate-a4']
        start += [*Rotation.from_matrix(plate.rotation).as_rotvec(), *plate.at]
        start += [0.0] * 4 + [1.0, 1.0]
        for name in self.points:
            p = scene.point(name)
            if self.on[name]:
                placed = scene.placed[self.on[name]]
                p = placed.rotation.T @ (p - placed.at)
            start += [*p]
        self.start = np.array(start)
        self.scales = np.array(
            [10, 1, 1, 1e-2, 1e-2] + [1e-3] * self.photos
            + [1e-3, 1e-3, 1e-3, 1, 1, 1] * (self.photos + 1) + [0.1] * 4 + [1e-3] * 2
            + [0.3] * (3 * len(self.points)))

    def parts(self, v):
        n = self.photos
        at = 5 + n
        poses = v[at : at + 6 * (n + 1)].reshape(-1, 6)
        at += 6 * (n + 1)
        return v[:5], v[5 : 5 + n], poses, v[at : at + 4].reshape(2, 2), v[at + 4 : at + 6], \
            v[at + 6 :].reshape(-1, 3)

    def world(self, name, local, poses):
        if name != 'plate-a4':
            return local
        return Rotation.from_rotvec(poses[-1][:3]).apply(local) + poses[-1][3:]

    def look(self, shot, world, lens, focus, poses):
        c = Rotation.from_rotvec(poses[shot][:3]).apply(world) + poses[shot][3:]
        m = c[:, :2] / c[:, 2:]
        r2 = (m * m).sum(axis=1, keepdims=True)
        return lens[1:3] + lens[0] * (1 + focus[shot]) * (1 + lens[3] * r2 + lens[4] * r2 * r2) * m

    def left(self, v):
        lens, focus, poses, bends, scale, points = self.parts(v)
        rows = []
        for shot in range(self.photos):
            for which, name in enumerate(self.names):
                of = [c for c in self.corners if c[0] == shot and c[1] == name]
                at = np.array([c[4:6] for c in of])
                q = ((at - self.middle[name]) / self.half[name]) ** 2 - 1 / 3
                local = np.column_stack([at * scale, q @ bends[which]])
                seen = np.array([c[6:8] for c in of])
                got = self.look(shot, self.world(name, local, poses), lens, focus, poses)
                rows.append(((got - seen) / CORNER_U).ravel())
            for name, local in zip(self.points, points):
                for tap in self.taps:
                    if tap[0] == shot and tap[1] == name:
                        world = self.world(self.on[name], local[None], poses)
                        got = self.look(shot, world, lens, focus, poses)
                        rows.append(((got - tap[3:5]) / TAP_U).ravel())
        centre = (np.array(SIZE) - 1) / 2
        rows += [[(lens[0] - self.f0) / (0.04 * self.f0)], (lens[1:3] - centre) / (0.005 * DIAGONAL),
                 lens[3:5] / 0.1, focus / 0.002, bends.ravel() / 0.2, (scale - 1) / 7e-4,
                 [p[2] / OFF_PLANE_U for n, p in zip(self.points, points) if self.on[n]]]
        return np.concatenate(rows)

    def angle(self, v):
        x = Rotation.from_rotvec(self.parts(v)[2][-1][:3]).apply([1.0, 0.0, 0.0])
        return math.degrees(math.atan2(math.hypot(x[1], x[2]), x[0]))

    def solve(self):
        slopes = lambda v: differences(self.left, v, self.scales)
        got = least_squares(self.left, self.start, slopes, x_scale=self.scales, xtol=1e-15,
                            ftol=1e-15, gtol=1e-15, max_nfev=200)
        v = got.x
        spread = np.linalg.inv(got.jac.T @ got.jac)
        u = np.sqrt(np.diag(spread))
        rows = [('f', v[0] , u[0]), ('k1', v[3], u[3])]
        slope = np.array([(self.angle(v + h) - self.angle(v - h)) / (2 * h.max())
                          for h in np.diag(self.scales * 1e-3)])
        rows.append(('angle', self.angle(v), math.sqrt(slope @ spread @ slope)))
        first = len(v) - 3 * len(self.points)
        for n, name in enumerate(self.points):
            at = first + 3 * n
            rows += [(f'{name} {axis}', v[at + i], u[at + i]) for i, axis in enumerate('xyz')]
        return rows


def differences(f, v, scales):
    columns = []
    for n, scale in enumerate(scales * 1e-3):
        h = np.zeros_like(v)
        h[n] = scale
        # Fourth order: what is left is rounding.
        columns.append((8 * (f(v + h) - f(v - h)) - f(v + 2 * h) + f(v - 2 * h)) / (12 * scale))
    return np.array(columns).T


def write(path, head, rows):
    cell = lambda c: f'{c:.13g}' if isinstance(c, float) else str(c)
    with open(path, 'w') as out:
        out.write(f'# photo_oracle.py: numpy {np.__version__}, scipy {scipy.__version__}, '
                  f'opencv {cv2.__version__}\n')
        out.write(head + '\n')
        for row in rows:
            out.write(','.join(cell(float(c) if isinstance(c, np.floating) else c) for c in row)
                      + '\n')


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('--out', type=pathlib.Path, required=True)
    out = parser.parse_args().out
    lenses, corners, taps, poses, points, fits = [], [], [], [], [], []
    for number in range(CASES):
        lens, c, t, p, q = by_opencv(number)
        lenses.append(('exact', number, lens['f'], *lens['centre'], *lens['k'], lens['exif35']))
        corners += [('exact', number, *row) for row in c]
        taps += [('exact', number, *row) for row in t]
        poses += p
        points += q
        scene, lens, cameras, c, t = case(number, True)
        lenses.append(('noisy', number, lens['f'], *lens['centre'], *lens['k'], lens['exif35']))
        corners += [('noisy', number, *row) for row in c]
        taps += [('noisy', number, *row) for row in t]
        fits += [(number, *row) for row in Fit(scene, lens, cameras, c, t).solve()]
    write(out / 'photo_lenses.csv', 'kind,case,f,cx,cy,k1,k2,equivalent', lenses)
    write(out / 'photo_corners.csv', 'kind,case,shot,sheet,tag,corner,x,y,px,py', corners)
    write(out / 'photo_taps.csv', 'kind,case,shot,point,sheet,px,py', taps)
    write(out / 'photo_poses.csv', 'case,shot,sheet,rx,ry,rz,tx,ty,tz', poses)
    write(out / 'photo_points.csv', 'case,point,x,y,z', points)
    write(out / 'photo_fits.csv', 'case,figure,value,u', fits)


if __name__ == '__main__':
    main()
