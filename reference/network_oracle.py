"""Writes networks.csv: dates of random activity networks by longest paths in networkx.

Independent of the program: nodes are the beginnings and ends of activities, an edge is as long as
an activity takes or a wait lasts, early dates are longest paths from the start, late ones the end
less the longest path onward. Run as `python network_oracle.py --out DIR`.
"""

import argparse
import pathlib
import random

import networkx as nx

SEED, NETWORKS = 404, 40


def longest(graph, start):
    """Longest path from `start` to every node, in topological order."""
    far = {start: 0}
    for node in nx.topological_sort(graph):
        if node in far:
            for _, to, data in graph.out_edges(node, data=True):
                far[to] = max(far.get(to, -1), far[node] + data["length"])
    return far


def network(rng):
    count = rng.randint(1, 25)
    times = [rng.randint(0, 40) for _ in range(count)]
    links = []
    for after in range(count):
        for before in rng.sample(range(after), min(after, rng.randint(0, 3))):
            links.append((before, after, rng.choice([0, 0, 0, rng.randint(1, 9)])))
    graph = nx.DiGraph()
    for at, time in enumerate(times):
        graph.add_edge(("begin", at), ("end", at), length=time)
        graph.add_edge("start", ("begin", at), length=0)
        graph.add_edge(("end", at), "finish", length=0)
    for before, after, lag in links:
        graph.add_edge(("end", before), ("begin", after), length=lag)
    early = longest(graph, "start")
    onward = longest(graph.reverse(), "finish")
    end = early["finish"]
    rows = []
    for at, time in enumerate(times):
        begin, stop = early["begin", at], early["end", at]
        last = end - onward["end", at]
        waits = [early["begin", after] - lag - stop for b, after, lag in links if b == at]
        free = min(waits, default=end - stop)
        rows.append([time, begin, stop, last - time, last, last - stop, free])
    return links, rows


def main():
    args = argparse.ArgumentParser()
    args.add_argument("--out", required=True)
    out = pathlib.Path(args.parse_args().out)
    rng = random.Random(SEED)
    lines = [
        f"# network_oracle.py, networkx {nx.__version__}",
        "# Independent of the program: see the script that wrote this.",
        "network,kind,a,b,c,d,e,f,g",
    ]
    for n in range(NETWORKS):
        links, rows = network(rng)
        lines += [f"{n},link,{b},{a},{lag},,,," for b, a, lag in links]
        lines += [f"{n},activity," + ",".join(map(str, row)) for row in rows]
    out.joinpath("networks.csv").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
