"""The general peer of `cargo bench -p axlewright-planning --bench jobs`: OR-Tools CP-SAT.

Reads one job as JSON from its input and prints one line: value, proven bound, seconds of the
processor, status, then the tasks in the order found. The same problem as ours, told to a general
solver:

* every task has a place in the order, and what must come before what keeps its places;
* for each feature the tasks that ask for it form one path; an arc of the path costs what changing
  from the one value to the other costs. An arc that another asking task must lie inside is left
  out;
* the start is the order that always takes the task with the cheapest change next.

One worker, its strategies taking turns; probing is off, because on the larger jobs it alone takes
the time allowed. That time is the processor's, so that a busy machine takes nothing away.
"""

import argparse
import json
import sys
import threading
import time

from ortools.sat.python import cp_model


def bits(mask):
    """Positions of the ones of a number."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def closure(count, arcs):
    """What comes before and after each task, all the way; tasks are written in a possible order."""
    before, after = [0] * count, [0] * count
    for first, second in arcs:
        before[second] |= 1 << first
    for task in range(count):
        for earlier in bits(before[task]):
            before[task] |= before[earlier]
        for earlier in bits(before[task]):
            after[earlier] |= 1 << task
    return before, after


def greedy(job, before):
    """The cheapest task next, the first of several."""
    count, hand, done, order = len(job["asks"]), [-1] * len(job["costs"]), 0, []

    def change(task):
        asks = enumerate(job["asks"][task])
        return sum(job["costs"][f][hand[f]][to] for f, to in asks if to >= 0 and hand[f] >= 0)

    while len(order) < count:
        ready = (t for t in range(count) if not done >> t & 1 and not before[t] & ~done)
        task = min(ready, key=change)
        order.append(task)
        done |= 1 << task
        hand = [to if to >= 0 else had for had, to in zip(hand, job["asks"][task])]
    return order


def model_of(job):
    """The model and its places."""
    count = len(job["asks"])
    before, after = closure(count, job["arcs"])
    start = {task: place for place, task in enumerate(greedy(job, before))}
    model = cp_model.CpModel()
    places = []
    for task in range(count):
        low, high = before[task].bit_count(), count - 1 - after[task].bit_count()
        places.append(model.new_int_var(low, high, f"place{task}"))
        model.add_hint(places[task], start[task])
        direct = before[task]
        for earlier in bits(before[task]):
            direct &= ~before[earlier]
        for earlier in bits(direct):
            model.add(places[earlier] < places[task])
    cost = []
    for feature, costs in enumerate(job["costs"]):
        asking = [task for task in range(count) if job["asks"][task][feature] >= 0]
        if len(asking) < 2 or not any(map(any, costs)):
            continue
        mask = sum(1 << task for task in asking)
        usual = sorted(asking, key=start.get)
        following = dict(zip(usual, usual[1:]))
        arcs = []

        def arc(tail, head, hint):
            taken = model.new_bool_var("")
            model.add_hint(taken, hint)
            arcs.append((tail, head, taken))
            return taken

        for i, one in enumerate(asking):
            if not before[one] & mask:
                arc(0, i + 1, usual[0] == one)
            if not after[one] & mask:
                arc(i + 1, 0, usual[-1] == one)
            for j, other in enumerate(asking):
                if one == other or before[one] >> other & 1 or after[one] & before[other] & mask:
                    continue
                taken = arc(i + 1, j + 1, following.get(one) == other)
                cost.append(costs[job["asks"][one][feature]][job["asks"][other][feature]] * taken)
                if not after[one] >> other & 1:
                    model.add(places[one] < places[other]).only_enforce_if(taken)
        model.add_circuit(arcs)
    model.minimize(sum(cost))
    return model, places


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=20.0)
    seconds = parser.parse_args().seconds
    job = json.load(sys.stdin)
    begin = time.process_time()
    model, places = model_of(job)
    solver = cp_model.CpSolver()
    done = threading.Event()

    def watch():
        while not done.wait(0.05):
            if time.process_time() - begin > seconds:
                solver.stop_search()

    watcher = threading.Thread(target=watch)
    watcher.start()
    solver.parameters.num_workers = 1
    solver.parameters.interleave_search = True
    solver.parameters.cp_model_probing_level = 0
    status = solver.solve(model)
    took = time.process_time() - begin
    done.set()
    watcher.join()
    known = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    # Places are not all different: tasks of one place are free of each other in every feature.
    count = len(places)
    order = sorted(range(count), key=lambda t: (solver.value(places[t]), t)) if known else []
    value = round(solver.objective_value) if known else -1
    print(value, round(solver.best_objective_bound), f"{took:.2f}", solver.status_name(status), *order)


if __name__ == "__main__":
    main()
