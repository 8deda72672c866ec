"""Writes engine_cars.csv and engine_rests.csv: whole cars at rest as a rigid-body engine has them.

The engine (MuJoCo, pinned) knows bodies, hinges, slides, springs and contacts, and is left to run
until nothing moves: no equation of rest is written down here. Behind, an arm turns on a hinge with
a torsional spring and carries an upright that hangs plumb on the axle; a thin wheel slides on the
upright on the tyre's spring. In front, an upright slides in the body on the wheel's spring, and a
small ball on the tyre's. Each wheel stands on a floor of its own height, without friction. How far
the engine lets a wheel sink into its floor is written down with the car. All cars are invented,
drawn from a seed. Run as `python engine_oracle.py --out DIR`.
"""

import argparse
import math
import pathlib

import mujoco
import numpy as np
from arm_model import GRAVITY, write

CARS = 10
SEED = 1963
VERSIONS = f"engine_oracle.py, mujoco {mujoco.__version__}, numpy {np.__version__}, seed {SEED}"
WHEELS = ("LF", "RF", "LR", "RR")
# Radius of the ball in front, m: so small that its lowest point is as good as its centre.
BALL = 0.002
# Mass below the tyre's spring, kg, of what is not sprung: the engine moves no massless thing.
RIM = 4.0
CONTACT = 'condim="1" solref="0.004 1.5" solimp="0.99 0.99 0.001"'


def draw(rng):
    """A car that stands near its design position, put out of true. Millimetres, degrees, kg."""
    u = lambda low, high: round(float(rng.uniform(low, high)), 3)
    angle, trim, reach, radius = u(4, 16), u(60, 130), u(400, 520), u(260, 310)
    behind, wheelbase = u(0.5, 0.62), u(1800, 2300)
    back = math.sqrt(reach**2 - trim**2)
    d = dict(mass=u(600, 1100), front_bar=u(0, 12), rear_bar=0.0)
    d["centre"] = (round(-back + (1 - behind) * wheelbase, 3), u(-25, 25), u(50, 300))
    front_y, hub_y, low = u(560, 700), u(580, 680), round(-trim - radius, 3)
    for wheel in ("LF", "RF"):
        side = 1 if wheel[0] == "L" else -1
        unsprung = u(25, 40)
        d[wheel] = dict(
            contact=(round(-back + wheelbase, 3), side * front_y, low), rate=u(11, 28),
            weight=round(0.5 * d["mass"] * (1 - behind) + unsprung + u(-8, 8), 3),
            unsprung=unsprung, tyre=u(140, 260), raised=u(-12, 12), floor=u(-12, 12))
    for wheel in ("LR", "RR"):
        load, bar, unsprung = 0.5 * d["mass"] * behind, u(3000, 5200), u(28, 45)
        twist = math.degrees(load * GRAVITY * back * 1e-3 / bar)
        d[wheel] = dict(
            lever=1.0, hub=(0.0, hub_y, 0.0), angle=angle, reach=reach, trim=trim, radius=radius,
            bar=bar, free=round(angle + twist + u(-2, 2), 3), unsprung=unsprung,
            weight=round(load + unsprung + u(-8, 8), 3), tyre=u(140, 260), floor=u(-12, 12),
            gas=0.0, gas_reach=400.0, bush=0.0, bush_at=0.0, shift=(0.0, 0.0))
    return d


def m(values):
    return " ".join(f"{v * 1e-3:.9f}" for v in np.atleast_1d(values))


def slide(name, rate, load, raised=0.0, damping=1500):
    """A slide up and down whose spring pushes down with `load` at zero, `rate` more per rise."""
    ref = -(load / (rate * 1e3) + raised * 1e-3)
    return (f'<joint name="{name}" type="slide" axis="0 0 1" stiffness="{rate * 1e3:.9g}" '
            f'springref="{ref:.12g}" damping="{damping}"/>')


def mass(kg, at="0 0 0"):
    return f'<inertial pos="{at}" mass="{kg:.9g}" diaginertia="0.2 0.2 0.2"/>'


def rim(wheel, d, shape, at):
    bit, load = 1 << WHEELS.index(wheel), (d["weight"] - RIM) * GRAVITY
    return (f'<body name="{wheel}" pos="{at}">{slide("tyre" + wheel, d["tyre"], load)}'
            f'<inertial pos="0 0 0" mass="{RIM}" diaginertia="0.01 0.01 0.01"/>'
            f'<geom {shape} mass="0" contype="{bit}" conaffinity="{bit}" {CONTACT}/></body>')


def front(wheel, d):
    load = (d["weight"] - d["unsprung"]) * GRAVITY
    ball = rim(wheel, d, f'type="sphere" size="{BALL}"', f"0 0 {BALL}")
    return (f'<body name="up{wheel}" pos="{m(d["contact"])}">'
            f'{slide("travel" + wheel, d["rate"], load, d["raised"])}'
            f'{mass(d["unsprung"] - RIM)}{ball}</body>')


def rear(wheel, d):
    side = 1 if wheel[0] == "L" else -1
    hub = np.array(d["hub"]) * [1, side, 1]
    back = math.sqrt(d["reach"] ** 2 - d["trim"] ** 2)
    # Unsprung weight is given as what the contact carries of it.
    low = f"0 0 -{d['radius'] * 1e-3:.9f}"
    disc = (f'type="cylinder" size="{d["radius"] * 1e-3:.9f} 1e-5" euler="1.5707963267948966 0 0"')
    return (f'<body name="arm{wheel}" pos="{m(hub)}">'
            f'<joint name="bar{wheel}" type="hinge" axis="0 -1 0" stiffness="{d["bar"]:.9g}" '
            f'springref="{math.radians(d["free"] - d["angle"]):.12g}" damping="400"/>'
            f'<inertial pos="0 0 0" mass="1e-3" diaginertia="1e-3 1e-3 1e-3"/>'
            f'<body name="up{wheel}" pos="{m([-back, 0, -d["trim"]])}">'
            f'<joint type="hinge" axis="0 1 0" damping="20"/>'
            f'{mass(d["unsprung"] - RIM, low)}{rim(wheel, d, disc, "0 0 0")}</body></body>')


def model(d):
    floors = "".join(
        f'<geom name="floor{w}" type="plane" size="0 0 1" pos="0 0 {m(d[w]["floor"])}" '
        f'contype="{1 << i}" conaffinity="{1 << i}" {CONTACT}/>' for i, w in enumerate(WHEELS))
    wheels = "".join(front(w, d[w]) for w in WHEELS[:2]) + "".join(rear(w, d[w]) for w in WHEELS[2:])
    height = -d["LF"]["contact"][2]
    return mujoco.MjModel.from_xml_string(f"""
<mujoco><compiler angle="radian" boundmass="0"/>
<option timestep="0.0005" gravity="0 0 -{GRAVITY}" integrator="implicitfast" tolerance="1e-15"
 iterations="200"/>
<worldbody>{floors}<body name="car" pos="0 0 {m(height)}"><joint type="free" damping="300"/>
<inertial pos="{m(d["centre"])}" mass="{d["mass"] - 2e-3:.9g}" diaginertia="180 700 800"/>
{wheels}</body></worldbody>
<tendon><fixed stiffness="{d["front_bar"] * 1e3:.9g}" springlength="0"><joint joint="travelLF"
 coef="1"/><joint joint="travelRF" coef="-1"/></fixed></tendon></mujoco>""")


def rest(name, d):
    engine = model(d)
    state = mujoco.MjData(engine)
    # Nothing holds the car from sliding or turning about on its floor: that does not count.
    counts = np.delete(np.arange(engine.nv), [0, 1, 5])
    for n in range(400_000):
        mujoco.mj_step(engine, state)
        if n > 2000 and n % 500 == 0 and np.abs(state.qvel[counts]).max() < 1e-11:
            break
    else:
        raise ArithmeticError(f"{name} still moves: {np.abs(state.qvel[counts]).max()}")
    load, sunk = {}, {}
    for n, contact in enumerate(state.contact):
        wheel = mujoco.mj_id2name(engine, mujoco.mjtObj.mjOBJ_GEOM, contact.geom1)[-2:]
        force = np.zeros(6)
        mujoco.mj_contactForce(engine, state, n, force)
        # A disc may touch in two points; they add up.
        load[wheel] = load.get(wheel, 0.0) + force[0] / GRAVITY
        sunk[wheel] = min(sunk.get(wheel, 0.0), float(contact.dist) * 1e3)
    at = lambda body: state.body(body).xpos
    turn = state.body("car").xmat.reshape(3, 3)
    row = [load[w] for w in WHEELS]
    for wheel in WHEELS[2:]:
        row.append((at("arm" + wheel)[2] - at("up" + wheel)[2]) * 1e3)
        row.append(d[wheel]["angle"] + math.degrees(state.joint("bar" + wheel).qpos[0]))
    row += [math.degrees(math.asin(turn[2, 0])), math.degrees(math.asin(turn[2, 1])),
            at("car")[2] * 1e3]
    for wheel in WHEELS:
        d[wheel]["sunk"] = sunk[wheel]
    return [name, *(float(v) for v in row)]


def cars_table(cars):
    for name, d in cars.items():
        parts = {"car": {k: v for k, v in d.items() if k not in WHEELS}}
        for part, values in (parts | {w: d[w] for w in WHEELS}).items():
            for key, value in values.items():
                cells = [float(v) for v in np.ravel(value)]
                yield [name, part, key, *cells, *[""] * (3 - len(cells))]


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=pathlib.Path, default=pathlib.Path(__file__).parent)
    out = parser.parse_args().out
    rng = np.random.default_rng(SEED)
    cars = {f"e{n:02}": draw(rng) for n in range(CARS)}
    rests = [rest(name, d) for name, d in cars.items()]
    header = ["car", *(f"{w}_kg" for w in WHEELS), "trim_LR_mm", "LR_deg", "trim_RR_mm", "RR_deg",
              "pitch_deg", "roll_deg", "height_mm"]
    write(out / "engine_rests.csv", VERSIONS, header, rests)
    write(out / "engine_cars.csv", VERSIONS, ["car", "part", "key", "v1", "v2", "v3"],
          cars_table(cars))


if __name__ == "__main__":
    main()
