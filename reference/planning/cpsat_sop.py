"""The general peer: OR-Tools CP-SAT's circuit model on the same instances, one worker.

    pip install ortools==9.14.6206
    python cpsat_sop.py FILE.sop [FILE.sop ...] [--seconds 60]

Prints one line per instance: name, value, proven bound, seconds, status. The order found is
replayed against the matrix before its value is printed.

Instances: TSPLIB, SOP, Reinelt 1991 (ORSA J. Computing 3, 376).
"""

import argparse
import pathlib
import time

from ortools.sat.python import cp_model


def read(path):
    """Dimension and matrix of a TSPLIB .sop file; -1 at (i, j): j comes before i."""
    body = path.read_text().split("EDGE_WEIGHT_SECTION")[1].split("EOF")[0].split()
    numbers = [int(word) for word in body]
    size = numbers[0]
    return [numbers[1 + i * size : 1 + (i + 1) * size] for i in range(size)]


def replay(matrix, order):
    """The cost of an order, after checking it."""
    assert sorted(order) == list(range(len(matrix)))
    for at, i in enumerate(order):
        assert all(matrix[i][j] != -1 for j in order[at + 1 :]), "a precedence is broken"
    return sum(matrix[i][j] for i, j in zip(order, order[1:]))


def solve(matrix, seconds):
    """Circuit with one arc back from the last task to the first, and a place for each task."""
    size = len(matrix)
    model = cp_model.CpModel()
    place = [model.new_int_var(0, size - 1, f"place{i}") for i in range(size)]
    model.add(place[0] == 0)
    model.add(place[size - 1] == size - 1)
    arcs, cost, used = [(size - 1, 0, True)], [], {}
    for i in range(size):
        for j in range(size):
            if matrix[i][j] == -1:
                model.add(place[j] + 1 <= place[i])
            elif i != j and i != size - 1 and j != 0 and (i, j) != (0, size - 1):
                taken = used[i, j] = model.new_bool_var(f"arc{i}_{j}")
                arcs.append((i, j, taken))
                cost.append(matrix[i][j] * taken)
                model.add(place[j] == place[i] + 1).only_enforce_if(taken)
    model.add_circuit(arcs)
    model.minimize(sum(cost))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, solver.best_objective_bound, solver.status_name(status)
    order, at = [0], 0
    while at != size - 1:
        at = next(j for (i, j), taken in used.items() if i == at and solver.value(taken))
        order.append(at)
    return replay(matrix, order), solver.best_objective_bound, solver.status_name(status)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="+", type=pathlib.Path)
    parser.add_argument("--seconds", type=float, default=60.0)
    asked = parser.parse_args()
    for path in asked.files:
        matrix = read(path)
        start = time.monotonic()
        value, bound, status = solve(matrix, asked.seconds)
        print(f"{path.stem} {value} {bound:.0f} {time.monotonic() - start:.1f} {status}", flush=True)


if __name__ == "__main__":
    main()
