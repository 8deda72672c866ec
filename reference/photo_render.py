"""Pictures of the printed sheets from known cameras: truth for measuring with photographs.

Shares nothing with the program but the statement of the sheets: it reads the SVG that
`axlewright target` prints, and looks at it through a camera of its own.

    world (mm): x along the body sheet's line, y up its paper, z out of it to the camera
    camera:     c = R (w - eye); x right, y down, z forward
    picture:    p = centre + f (1 + k1 r^2 + k2 r^4) (cx/cz, cy/cz), pixel centres at whole numbers

Every pixel is the mean over its own square, taken from the sheet's plane by running each ray
backwards; then come blur, falling-off light, noise and JPEG.

    python photo_render.py soak    --sheets DIR --out DIR --scenes N --seed S
    python photo_render.py without --out DIR --scenes N --seed S
    python photo_render.py small   --sheets DIR --out DIR
    python photo_render.py demo    --sheets DIR --out DIR
"""

import argparse
import json
import math
import pathlib
import re
from dataclasses import dataclass, field

import cv2
import numpy as np
from PIL import Image
from scipy.spatial.transform import Rotation

TEXELS_PER_MM = 10
SUPER = 4


class Sheet:
    """One sheet as printed: a texture, and its axes from the line drawn in the SVG."""

    def __init__(self, path, name):
        text = pathlib.Path(path).read_text()
        width, height = map(float, re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', text).groups())
        group = re.search(rf'<g id="{name}">(.*?)</g>', text, re.S).group(1)
        u0, v0, u1, v1 = map(float, re.search(
            r'class="line" d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)"', group).groups())
        self.name = name
        self.origin = np.array([(u0 + u1) / 2, (v0 + v1) / 2])
        self.along = np.array([u1 - u0, v1 - v0])
        self.line = np.linalg.norm(self.along)
        self.along /= self.line
        # Up the paper: a quarter turn anticlockwise as the sheet is looked at (v runs down).
        self.up = np.array([self.along[1], -self.along[0]])
        self.texture = np.full((round(height * TEXELS_PER_MM), round(width * TEXELS_PER_MM)),
                               255, np.uint8)
        self.tags = {}
        for black, tag, white in re.findall(
                r'(<path id="tag-(\d+)" d="[^"]*"/>)<path fill="#fff" d="([^"]*)"/>', text):
            square = self.fill(re.search(r' d="([^"]*)"', black).group(1), 20)
            self.fill(white, 255)
            if f'id="tag-{tag}"' in group:
                self.tags[int(tag)] = self.to_axes(np.array(square).mean(axis=0))
        for stroke in re.findall(r'd="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)" stroke="#000"', text):
            a, b, c, d = (round(float(s) * TEXELS_PER_MM) for s in stroke)
            cv2.line(self.texture, (a, b), (c, d), 30, 3)
        corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
        self.outline = self.to_axes(corners)
        # What lies below the line has been cut off.
        self.low = [self.outline[:, 0].min(), 0.0]
        self.high = self.outline.max(axis=0).tolist()

    def fill(self, path, grey):
        corners = []
        for m in re.findall(r'M([\d.]+) ([\d.]+)H([\d.]+)V([\d.]+)', path):
            u0, v0, u1, v1 = map(float, m)
            a, b = sorted((u0, u1)), sorted((v0, v1))
            (i0, i1), (j0, j1) = ([round(s * TEXELS_PER_MM) for s in p] for p in (a, b))
            self.texture[j0:j1, i0:i1] = grey
            corners += [(u0, v0), (u1, v1)]
        return corners

    def to_axes(self, uv):
        d = np.asarray(uv, float) - self.origin
        return np.stack([d @ self.along, d @ self.up], axis=-1)

    def to_texels(self, x, y):
        u = self.origin[0] + x * self.along[0] + y * self.up[0]
        v = self.origin[1] + x * self.along[1] + y * self.up[1]
        return u * TEXELS_PER_MM - 0.5, v * TEXELS_PER_MM - 0.5


@dataclass
class Placed:
    """A sheet in the world: its pose, the printer's scale and how it is bent."""
    sheet: Sheet
    rotation: np.ndarray
    at: np.ndarray
    scale: tuple = (1.0, 1.0)
    # Half the second derivative of its height along x and along y, per mm.
    bend: tuple = (0.0, 0.0)
    middle: tuple = (0.0, 75.0)
    extent: tuple = (125.0, 75.0)

    def height(self, x, y):
        (a, b), (p, q), (r, s) = self.bend, self.middle, self.extent
        return a * ((x - p) ** 2 - r * r / 3) + b * ((y - q) ** 2 - s * s / 3)

    def world(self, x, y):
        x, y = np.asarray(x, float), np.asarray(y, float)
        p = np.stack([x * self.scale[0], y * self.scale[1], self.height(x, y)], axis=-1)
        return p @ self.rotation.T + self.at


@dataclass
class Camera:
    size: tuple
    f: float
    centre: tuple
    k: tuple
    rotation: np.ndarray
    eye: np.ndarray
    exif35: int | None = None

    def project(self, world):
        c = (np.atleast_2d(world) - self.eye) @ self.rotation.T
        x, y = c[:, 0] / c[:, 2], c[:, 1] / c[:, 2]
        r2 = x * x + y * y
        g = 1 + self.k[0] * r2 + self.k[1] * r2 * r2
        return np.stack([self.centre[0] + self.f * g * x, self.centre[1] + self.f * g * y], 1)

    def rays(self, u, v):
        xd, yd = (u - self.centre[0]) / self.f, (v - self.centre[1]) / self.f
        x, y = xd.copy(), yd.copy()
        for _ in range(12):
            r2 = x * x + y * y
            g = 1 + self.k[0] * r2 + self.k[1] * r2 * r2
            x, y = xd / g, yd / g
        return np.stack([x, y, np.ones_like(x)], axis=-1) @ self.rotation


def looking(eye, target, roll):
    """Rotation of a camera at `eye` that sees `target` in the middle, turned by `roll`."""
    z = np.asarray(target, float) - eye
    z /= np.linalg.norm(z)
    x = np.cross(z, [0.0, 1.0, 0.0])
    x /= np.linalg.norm(x)
    return Rotation.from_euler('z', roll).as_matrix() @ np.stack([x, np.cross(z, x), z])


def clutter(rng, size):
    """A workshop behind it: flats, edges, rings, boards of squares, grain."""
    w, h = size
    small = cv2.resize(rng.uniform(60, 190, (7, 9)).astype(np.float32), (w // 4, h // 4),
                       interpolation=cv2.INTER_CUBIC)
    picture = cv2.resize(small, (w, h), interpolation=cv2.INTER_LINEAR)
    for _ in range(90):
        grey = float(rng.uniform(10, 240))
        c = rng.uniform([0, 0], [w, h])
        reach = rng.uniform(0.01, 0.12) * w
        kind = rng.integers(5)
        if kind == 0:
            turn = rng.uniform(0, math.pi)
            points = [c + reach * rng.uniform(0.4, 1) * np.array(
                [math.cos(turn + i), math.sin(turn + i)]) for i in (0, 1.2, 2.9, 4.4)]
            cv2.fillPoly(picture, [np.round(np.array(points)).astype(np.int32)], grey, cv2.LINE_AA)
        elif kind == 1:
            d = rng.normal(0, reach, 2)
            cv2.line(picture, *[tuple(int(s) for s in p) for p in (c - d, c + d)], grey,
                     int(rng.integers(1, 14)), cv2.LINE_AA)
        elif kind == 2:
            cv2.circle(picture, tuple(int(s) for s in c), int(reach / 3), grey,
                       int(rng.choice([-1, 3, 9])), cv2.LINE_AA)
        elif kind == 3:
            # Squares within squares: what looks like a tag and is none.
            side = max(int(reach / 2), 8)
            board = (rng.integers(0, 2, (8, 8)) * 200 + 20).astype(np.float32)
            board[[0, -1], :], board[:, [0, -1]] = 20, 20
            board[1:-1, 1:-1] = np.where(rng.uniform(size=(6, 6)) < 0.6, grey, 20)
            tile = cv2.resize(np.pad(board, 1, constant_values=230), (side, side),
                              interpolation=cv2.INTER_NEAREST)
            if rng.uniform() < 0.3:
                paste(picture, tile, c.astype(int))
        else:
            word = np.zeros((80, 420), np.uint8)
            cv2.putText(word, 'axle 1300', (5, 60), cv2.FONT_HERSHEY_SIMPLEX, 2, 255, 5, cv2.LINE_AA)
            word = cv2.resize(word, None, fx=max(reach / 300, 0.1), fy=max(reach / 300, 0.1))
            paste(picture, np.where(word > 0, word, 128).astype(np.float32), c.astype(int))
    return picture


def paste(picture, tile, corner):
    x, y = corner
    h, w = picture.shape
    part = tile[: max(0, h - y), : max(0, w - x)]
    picture[y : y + part.shape[0], x : x + part.shape[1]] = part


def draw(picture, camera, placed):
    """The sheet into the picture, each pixel the mean of SUPER x SUPER rays."""
    s = placed.sheet
    ring = [(x, y) for x in (s.low[0], s.high[0]) for y in (s.low[1], s.high[1])]
    seen = camera.project(placed.world(*np.array(ring).T))
    low = np.maximum(np.floor(seen.min(axis=0)).astype(int) - 3, 0)
    high = np.minimum(np.ceil(seen.max(axis=0)).astype(int) + 4, camera.size)
    if (high <= low).any():
        return
    step = (np.arange(SUPER) + 0.5) / SUPER - 0.5
    normal, eye = placed.rotation[:, 2], camera.eye
    for top in range(low[1], high[1], 64):
        rows = np.arange(top, min(top + 64, high[1]))
        u = (np.arange(low[0], high[0])[:, None] + step).ravel()
        v = (rows[:, None] + step).ravel()
        u, v = np.meshgrid(u, v)
        rays = camera.rays(u, v)
        down = rays @ normal
        x = y = np.zeros_like(u)
        for _ in range(1 if placed.bend == (0.0, 0.0) else 5):
            t = ((placed.at - eye) @ normal + placed.height(x, y)) / down
            p = (eye + rays * t[..., None] - placed.at) @ placed.rotation
            x, y = p[..., 0] / placed.scale[0], p[..., 1] / placed.scale[1]
        inside = ((s.low[0] <= x) & (x <= s.high[0]) & (s.low[1] <= y) & (y <= s.high[1])
                  & (t > 0))
        if hasattr(s, 'outside'):
            inside &= ~s.outside(x, y)
        a, b = s.to_texels(x, y)
        grey = cv2.remap(s.texture, a.astype(np.float32), b.astype(np.float32),
                         cv2.INTER_LINEAR, borderValue=255).astype(np.float32)
        shape = (len(rows), SUPER, high[0] - low[0], SUPER)
        cover = inside.reshape(shape).mean(axis=(1, 3))
        light = (grey * inside).reshape(shape).mean(axis=(1, 3))
        patch = picture[top : top + len(rows), low[0] : high[0]]
        patch[:] = patch * (1 - cover) + light * cover


def develop(rng, picture, blur, noise, motion=None):
    """Light that falls off, blur, noise; eight bits."""
    h, w = picture.shape
    x = (np.arange(w, dtype=np.float32) - w / 2) / w
    y = (np.arange(h, dtype=np.float32)[:, None] - h / 2) / w
    slope = rng.uniform(-0.5, 0.5, 2).astype(np.float32)
    light = (1 - rng.uniform(0.2, 0.7) * (x * x + y * y)) * (0.85 + slope[0] * x + slope[1] * y)
    picture = picture * light.astype(np.float32)
    picture = cv2.GaussianBlur(picture, (0, 0), blur)
    if motion:
        length, turn = motion
        kernel = np.zeros((2 * length + 1,) * 2, np.float32)
        d = length / 2 * np.array([math.cos(turn), math.sin(turn)])
        cv2.line(kernel, *[tuple(np.round(length + s * d).astype(int).tolist()) for s in (-1, 1)],
                 1.0, 1, cv2.LINE_AA)
        picture = cv2.filter2D(picture, -1, kernel / kernel.sum())
    grain = np.empty_like(picture)
    cv2.setRNGSeed(int(rng.integers(1 << 30)))
    cv2.randn(grain, 0, noise)
    return np.clip(np.round(picture + grain), 0, 255).astype(np.uint8)


def save(path, grey, quality, exif35=None, tint=True):
    picture = Image.fromarray(grey)
    if tint:
        picture = Image.merge('RGB', [picture.point(lambda g, k=k: round(g * k)) for k in
                                      (1.0, 0.97, 0.9)])
    extra = {}
    if exif35:
        exif = Image.Exif()
        ifd = exif.get_ifd(0x8769)
        ifd[0x920A] = exif35 / 6.1
        ifd[0xA405] = exif35
        extra['exif'] = exif
    picture.save(path, quality=quality, **extra)


@dataclass
class Scene:
    """Sheets that stand still, and points on and around them."""
    placed: dict
    space: dict = field(default_factory=dict)
    plane: dict = field(default_factory=dict)

    def point(self, name):
        if name in self.space:
            return self.space[name]
        sheet, x, y = self.plane[name]
        p = self.placed[sheet]
        return p.rotation @ np.array([x, y, 0.0]) + p.at


def taps(rng, scene, camera, photo, noise=0.5):
    found = []
    for name in [*scene.plane, *scene.space]:
        p = camera.project(scene.point(name))[0]
        if (p < 5).any() or (p > np.array(camera.size) - 6).any():
            continue
        x, y = p + rng.normal(0, noise, 2)
        sheet = scene.plane[name][0] if name in scene.plane else None
        found.append({'photo': photo, 'name': name, 'x': round(x, 3), 'y': round(y, 3),
                      'sheet': sheet})
    return found


class Disc:
    """A bolt head, hole or eye: a dark ring round a light face, flat, facing its z."""

    def __init__(self, radius, face=205, rim=35):
        side = int(2.6 * radius * TEXELS_PER_MM)
        self.texture = np.full((side, side), 120, np.uint8)
        middle = ((side - 1) / 2,) * 2
        for r, grey in ((1.25, rim), (1.0, face), (0.18, rim)):
            fixed = tuple(round(m * 256) for m in middle)
            cv2.circle(self.texture, fixed, round(r * radius * TEXELS_PER_MM * 256), grey, -1,
                       cv2.LINE_AA, 8)
        self.radius, self.side = radius, side
        self.low, self.high = [-1.25 * radius] * 2, [1.25 * radius] * 2

    def to_texels(self, x, y):
        return x * TEXELS_PER_MM + (self.side - 1) / 2, (self.side - 1) / 2 - y * TEXELS_PER_MM

    def outside(self, x, y):
        return x * x + y * y > (1.25 * self.radius) ** 2


class Panel:
    """A painted flat of some outline, in its own axes."""

    def __init__(self, outline, grey):
        self.outline = np.array(outline, float)
        self.texture = np.full((8, 8), grey, np.uint8)
        self.low, self.high = self.outline.min(axis=0).tolist(), self.outline.max(axis=0).tolist()

    def to_texels(self, x, y):
        return np.full_like(x, 3.5), np.full_like(y, 3.5)

    def outside(self, x, y):
        inside = np.zeros(x.shape, bool)
        previous = self.outline[-1]
        for corner in self.outline:
            (a, b), (c, d) = previous, corner
            if b != d:
                inside ^= ((b > y) != (d > y)) & (x < (c - a) * (y - b) / (d - b) + a)
            previous = corner
        return ~inside


def truth_of(scene, cameras):
    body = next(iter(scene.placed.values()))
    line = {n: p.rotation[:, 0] for n, p in scene.placed.items()}
    angles = {}
    names = [n for n, p in scene.placed.items() if isinstance(p.sheet, Sheet)]
    for i, a in enumerate(names):
        for b in names[i + 1:]:
            cross = np.linalg.norm(np.cross(line[a], line[b]))
            angles[f'{a} {b}'] = math.degrees(math.atan2(cross, line[a] @ line[b]))
    to_body = lambda w: (body.rotation.T @ (w - body.at)).tolist()
    return {
        'angles': angles,
        'space': {n: to_body(p) for n, p in scene.space.items()},
        'plane': {n: [s, x, y] for n, (s, x, y) in scene.plane.items()},
        'sheets': {n: {'rotation': (body.rotation.T @ p.rotation).tolist(),
                       'at': to_body(p.at), 'scale': list(p.scale), 'bend': list(p.bend),
                       'middle': list(p.middle), 'extent': list(p.extent)}
                   for n, p in scene.placed.items()
                   if isinstance(p.sheet, Sheet)},
        'cameras': [{'f': c.f, 'centre': list(c.centre), 'k': list(c.k), 'size': list(c.size),
                     'rotation': (c.rotation @ body.rotation).tolist(), 'eye': to_body(c.eye)}
                    for c in cameras],
    }


def random_camera(rng, lens, target, away, exif=True):
    """A camera held by hand, looking 15 to 40 degrees past square at the scene."""
    tilt, around = math.radians(rng.uniform(15, 40)), rng.uniform(0, 2 * math.pi)
    d = np.array([math.sin(tilt) * math.cos(around), math.sin(tilt) * math.sin(around) * 0.8,
                  math.cos(tilt)])
    eye = target + away * d / np.linalg.norm(d)
    aim = target + rng.normal(0, 25, 3)
    rotation = looking(eye, aim, math.radians(rng.normal(0, 6)))
    # A lens moves a little as it focuses.
    f = lens['f'] * (1 + rng.normal(0, 0.002))
    return Camera(lens['size'], f, lens['centre'], lens['k'], rotation, eye,
                  lens['exif35'] if exif else None)


def random_lens(rng, size):
    exif35 = int(rng.choice([24, 26, 28]))
    diagonal = math.hypot(*size)
    f = exif35 / math.hypot(36, 24) * diagonal * (1 + rng.normal(0, 0.02))
    centre = tuple((np.array(size) - 1) / 2 + rng.normal(0, 0.004, 2) * diagonal)
    return {'size': size, 'f': f, 'centre': centre, 'exif35': exif35,
            'k': (rng.normal(0.0, 0.05), rng.normal(0.0, 0.03))}


def random_scene(rng, sheets):
    """A body sheet and a plate sheet behind it, turned by the plate's angle, and points around."""
    body, plate = sheets['body'], sheets['plate']
    scale = tuple(1 + rng.normal(0, 0.0007, 2))
    bend = lambda r: tuple(rng.normal(0, 0.2 / np.array(r) ** 2))
    angle = -math.radians(rng.uniform(3, 35))
    tilt = Rotation.from_euler('xy', rng.normal(0, math.radians(3), 2)).as_matrix()
    turned = tilt @ Rotation.from_euler('z', angle).as_matrix()
    at = np.array([rng.uniform(280, 420), rng.uniform(-40, 120), rng.uniform(-60, 60)])
    placed = {
        body.name: Placed(body, np.eye(3), np.zeros(3), scale, bend((125, 75)), (0, 79), (125, 75)),
        plate.name: Placed(plate, turned, at, scale, bend((122.5, 70)), (0, 72), (122.5, 70)),
    }
    scene = Scene(placed)
    for i in range(6):
        scene.plane[f'b{i}'] = (body.name, *rng.uniform([-250, -120], [300, 250]))
        scene.plane[f'p{i}'] = (plate.name, *rng.uniform([-200, -100], [200, 150]))
    for i in range(10):
        scene.space[f's{i}'] = rng.uniform([-150, -200, -200], [600, 300, 120])
    return scene


def load_sheets(folder, paper='a4'):
    sheets = {kind: Sheet(pathlib.Path(folder) / f'{kind}-{paper}.svg', f'{kind}-{paper}')
              for kind in ('body', 'plate')}
    # Cut down to what fits on a plate: A5 or so.
    sheets['plate'].low = [-122.5, 0.0]
    sheets['plate'].high = [122.5, 72.0]
    return sheets


def photograph(rng, scene, camera, path, blur=None, noise=None, quality=None, motion=None):
    picture = clutter(rng, camera.size)
    for placed in scene.placed.values():
        draw(picture, camera, placed)
    grey = develop(rng, picture, blur or rng.uniform(0.5, 1.3), noise or rng.uniform(1, 5), motion)
    save(path, grey, quality or int(rng.integers(78, 96)), camera.exif35)


def soak(sheets_folder, out, scenes, seed):
    sheets = load_sheets(sheets_folder)
    size = (4000, 3000)
    truths = []
    for number in range(scenes):
        rng = np.random.default_rng([seed, number])
        scene = random_scene(rng, sheets)
        lens = random_lens(rng, size)
        target = np.array([190.0, 60.0, 0.0])
        cameras, points, photos = [], [], []
        for shot, away in enumerate([1500.0, rng.uniform(1000, 1500), rng.uniform(1000, 1500)]):
            # Apart from each other, as somebody takes them who has read the guide.
            while True:
                camera = random_camera(rng, lens, target, away)
                bearing = lambda c: (c.eye - target) / np.linalg.norm(c.eye - target)
                if all(bearing(c) @ bearing(camera) < math.cos(math.radians(20)) for c in cameras):
                    break
            name = f'{number:03}-{shot}.jpg'
            photograph(rng, scene, camera, out / name)
            cameras.append(camera)
            photos.append(name)
            points += taps(rng, scene, camera, name)
        truths.append({'photos': photos, 'points': points, **truth_of(scene, cameras)})
        print(f'scene {number}', flush=True)
    (out / 'truth.json').write_text(json.dumps(truths))


def small(sheets_folder, out):
    """Six pictures that are committed: a scene from three sides, one from two, and a bent sheet."""
    sheets = load_sheets(sheets_folder)
    size = (1600, 1200)
    truths = []
    for number, (name, shots) in enumerate([('a', 3), ('b', 2), ('bent', 1)]):
        rng = np.random.default_rng([77, number])
        scene = random_scene(rng, sheets)
        if name == 'bent':
            scene.placed['body-a4'].bend = (4.0 / 125 ** 2, 0.0)
        lens = random_lens(rng, size)
        target = np.array([190.0, 60.0, 0.0])
        cameras, points, photos = [], [], []
        for shot in range(shots):
            turn = math.radians(20 + 130 * shot)
            d = np.array([math.sin(turn) * 0.5, math.cos(turn) * 0.3 + 0.1, 0.85])
            eye = target + rng.uniform(800, 950) * d / np.linalg.norm(d)
            rotation = looking(eye, target + rng.normal(0, 20, 3), math.radians(rng.normal(0, 6)))
            f = lens['f'] * (1 + rng.normal(0, 0.002))
            camera = Camera(size, f, lens['centre'], lens['k'], rotation, eye, lens['exif35'])
            photo = f'{name}{shot}.jpg'
            photograph(rng, scene, camera, out / photo, blur=0.7, noise=1.2, quality=82)
            cameras.append(camera)
            photos.append(photo)
            points += taps(rng, scene, camera, photo)
        truths.append({'photos': photos, 'points': points, **truth_of(scene, cameras)})
    (out / 'truth.json').write_text(json.dumps(truths, indent=0))


# The demo's left corner (examples/larch-1300/car.toml): X forward, Y left, Z up, mm.
DEMO = {
    'hub': (0, 610, 0), 'pivot': (-55, 235, -20), 'wheel': (-455, 668, -95),
    'stop-bolt': (-214, 640, -146), 'jack-point': (-440, 600, -150),
    'damper-body': (-470, 560, 250), 'damper-arm': (-525, 590, -110),
    'hose-body': (-150, 400, 30), 'hose-arm': (-260, 430, -30),
    'cable-body': (-130, 200, 15), 'cable-arm': (-395, 520, -70),
}
DEMO_ANGLE = 11.0
DEMO_AT = (330.0, 690.0, -110.0)


def hidden(name, placed, camera):
    """Whether something nearer stands before a disc, or before its rim."""
    disc = placed[name]
    for turn in np.linspace(0, 2 * math.pi, 17):
        r = 1.4 * disc.sheet.radius * (turn > 0)
        point = disc.world(r * math.cos(turn), r * math.sin(turn))
        ray = point - camera.eye
        for other, one in placed.items():
            down = ray @ one.rotation[:, 2]
            t = (one.at - camera.eye) @ one.rotation[:, 2] / down
            if other == name or not 0 < t < 0.999:
                continue
            x, y, _ = (camera.eye + t * ray - one.at) @ one.rotation
            s = one.sheet
            within = s.low[0] < x < s.high[0] and s.low[1] < y < s.high[1]
            if within and not (hasattr(s, 'outside') and s.outside(np.array([x]), np.array([y]))[0]):
                return True
    return False


def demo(sheets_folder, out):
    """Three pictures of the demo's left corner at its design angle, and taps."""
    rng = np.random.default_rng(1300)
    sheets = load_sheets(sheets_folder)
    x0, y0, z0 = DEMO_AT
    to_sheet = lambda p: np.array([x0 - p[0], p[2] - z0, p[1] - y0], float)
    turn = Rotation.from_euler('z', -math.radians(DEMO_ANGLE)).as_matrix()
    # On the plate: u rearward along the line from the hub, w up from it.
    hub = to_sheet(DEMO['hub'])
    on_plate = lambda u, w: hub + turn @ np.array([u, w, 6.0])
    plate = sheets['plate']
    plate.low, plate.high = [-87.5, 0.0], [87.5, 37.0]
    outline = [(-60, 55), (250, 50), (370, 38), (370, -36), (250, -46), (-60, -55)]
    facing = np.eye(3)
    flat = lambda outline, grey, depth: Placed(
        Panel(outline, grey), facing, np.array([0.0, 0.0, depth]))
    placed = {
        'house': flat([(90, -170), (1150, -170), (1150, 300), (880, 520), (380, 520), (90, 260)],
                      74, -520.0),
        'sill': flat([(-190, -60), (215, -60), (215, 40), (150, 190), (-190, 190)], 150, -9.0),
        'arm': flat([(570, 120), (640, 150), (900, 90), (900, -60), (600, -40)], 52, -180.0),
        'body-a4': Placed(sheets['body'], facing, np.zeros(3)),
        'plate': Placed(Panel(outline, 95), turn, on_plate(0, 0) - turn[:, 2]),
        'plate-a4': Placed(plate, turn, on_plate(140, 0)),
    }
    points = {name: to_sheet(p) for name, p in DEMO.items()}
    # Seen on the plate's outer face.
    points['hub'] = on_plate(0, 0)
    points['hole-front'] = on_plate(250, 6)
    points['hole-rear'] = on_plate(330, 6)
    scene = Scene(placed, space=points)
    for name, p in points.items():
        rotation = turn if name.startswith('ho') and '-' in name and 'hose' not in name else facing
        placed[name] = Placed(Disc(9.0), rotation, p)
    size = (2400, 1800)
    lens = random_lens(rng, size)
    target = to_sheet((-150, 560, 0))
    tapped = []
    for shot, (sideways, up) in enumerate([(0.62, 0.12), (-0.1, 0.28), (-0.62, 0.3)]):
        d = np.array([sideways, up, 1.0])
        eye = target + 1150 * d / np.linalg.norm(d)
        rotation = looking(eye, target, math.radians(rng.normal(0, 4)))
        f = lens['f'] * (1 + rng.normal(0, 0.002))
        camera = Camera(size, f, lens['centre'], lens['k'], rotation, eye, lens['exif35'])
        name = f'left-{shot + 1}.jpg'
        picture = cv2.resize(rng.uniform(70, 150, (7, 9)).astype(np.float32), size,
                             interpolation=cv2.INTER_CUBIC)
        # The furthest first.
        for one in sorted(placed.values(), key=lambda p: p.at[2]):
            draw(picture, camera, one)
        save(out / name, develop(rng, picture, 0.8, 1.2), 80, camera.exif35)
        for tap in taps(rng, scene, camera, name, 1.5):
            if hidden(tap['name'], placed, camera):
                continue
            tapped.append({**tap, 'shape': 'circle'})
    often = [tap['name'] for tap in tapped]
    tapped = [tap for tap in tapped if 1 < often.count(tap['name'])]
    rows = ',\n'.join(json.dumps(tap) for tap in tapped)
    (out / 'taps.json').write_text(f'[\n{rows}\n]\n')


def without(out, count, seed):
    """Pictures with no sheet in them."""
    for number in range(count):
        rng = np.random.default_rng([seed, 1_000_000 + number])
        grey = develop(rng, clutter(rng, (4000, 3000)), rng.uniform(0.5, 1.3), rng.uniform(1, 5))
        save(out / f'none-{number:03}.jpg', grey, 85)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('what', choices=['soak', 'without', 'small', 'demo'])
    parser.add_argument('--sheets', type=pathlib.Path)
    parser.add_argument('--out', type=pathlib.Path, required=True)
    parser.add_argument('--scenes', type=int, default=67)
    parser.add_argument('--seed', type=int, default=1)
    call = parser.parse_args()
    call.out.mkdir(parents=True, exist_ok=True)
    if call.what == 'soak':
        soak(call.sheets, call.out, call.scenes, call.seed)
    elif call.what == 'small':
        small(call.sheets, call.out)
    elif call.what == 'demo':
        demo(call.sheets, call.out)
    else:
        without(call.out, call.scenes, call.seed)


if __name__ == '__main__':
    main()
