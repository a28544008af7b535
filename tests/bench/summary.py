"""Medians of the benchmark runs as reports/speed.md and reports/speed.svg. Called by run.sh."""

import json
import math
import pathlib
import platform
import re
import statistics
import subprocess
import sys

from goals import goal_rows

OURS = "lastroom"


# What the check holds per triangle, when scan and last have n each and half as many vertices.
MEMORY = """
Per triangle, scan and last: their meshes 48 bytes (coordinates are double). While the room is measured: the tree over
the last about 65 (52 a triangle in leaves of eight, and the nodes), the neighbours and pseudonormals that signs are
read from 19, the fields over the skin (place, normal, room, doubt, nearest point, area) 49; and, for a moment, what the
room is evened with, 24. The report draws from meshes and fields alone. What Open3D holds is in single precision, and
without neighbours, signs or fields: even our two meshes and the fields, without any tree, are more than half of it."""


def load_cases(folder):
    """{(who, last, cloud, triangles, points, threads): [(ms, counters) per repetition]}.

    With one thread its processor time counts, which neighbours on the machine disturb least; with more, the clock."""
    cases = {}
    for program in ("bench_distance", "bench_peers"):
        file = folder / f"{program}.json"
        for run in json.loads(file.read_text())["benchmarks"]:
            if run.get("run_type") == "aggregate":
                continue
            who, last, cloud, triangles, points, threads = run["label"].split("|")
            key = (file.stem, who, last, cloud, int(triangles), int(points), int(threads))
            ms = run["cpu_time"] if int(threads) == 1 else run["real_time"]
            cases.setdefault(key, []).append((ms, run))
    return cases


def medians(cases, program):
    return {key[1:]: statistics.median(ms for ms, _ in runs) for key, runs in cases.items() if key[0] == program}


def ns_per_query(ms, points):
    return ms * 1e6 / points


def short(n):
    return f"{n / 1e6:.0f}M" if n >= 950_000 else f"{round(n / 1000)}k"


def table(head, rows):
    yield "| " + " | ".join(head) + " |"
    yield "| --- |" + " ---: |" * (len(head) - 1)
    for row in rows:
        yield "| " + " | ".join(row) + " |"


def machine():
    cpu = subprocess.run(["lscpu"], capture_output=True, text=True, check=False).stdout
    find = lambda name: next(iter(re.findall(rf"^{name}:\s*(.*)$", cpu, re.M)), "?")
    compiler = subprocess.run(["g++", "--version"], capture_output=True, text=True, check=False).stdout.split("\n")[0]
    return (f"{find('Model name')} (family {find('CPU family')}, model {find('Model')}), {find('CPU.s.')} processors, "
            f"L2 {find('L2 cache')}, L3 {find('L3 cache')}; Linux {platform.release()}; {compiler}")


def ours_tables(cases):
    runs = medians(cases, "bench_distance")
    yield "## Ours: nanoseconds per signed distance\n"
    sizes = sorted({k[3] for k in runs if k[2] == "scan" and k[1] == "closed"})
    columns = sorted({(k[4], k[5]) for k in runs if k[0] == OURS and k[1] == "closed" and k[2] == "scan"},
                     key=lambda c: (c[1], c[0]))
    yield from table(["triangles of the last"] + [f"{short(p)} points, {t} thr." for p, t in columns],
                     [[f"{n:,}"] + [f"{ns_per_query(runs[(OURS, 'closed', 'scan', n, p, t)], p):.0f}"
                                    if (OURS, "closed", "scan", n, p, t) in runs else "-" for p, t in columns]
                      for n in sizes])
    yield "\nOther clouds and lasts, 1 thread (an open last keeps fewer triangles):\n"
    others = [k for k in runs if k[4] > 0 and not (k[0] == OURS and k[1] == "closed" and k[2] == "scan")]
    yield from table(["", "last", "cloud", "triangles", "points", "ns"],
                     [[who, last, cloud, f"{n:,}", short(p), f"{ns_per_query(runs[(who, last, cloud, n, p, t)], p):.0f}"]
                      for who, last, cloud, n, p, t in others])


def work_table(folder):
    """What bench_work counts, which is the same on every machine but for the size of its cache."""
    yield "\n### What a query does, and why it costs more on a larger last\n"
    yield "Per query of the same scan (bench_work, which runs the search on lanes that count): nodes and leaves looked at,"
    yield "triangles finished in double, and 64-byte lines that a second-level cache of 1 MiB has to fetch.\n"
    rows = json.loads((folder / "bench_work.json").read_text())
    yield from table(["triangles", "points", "nodes", "leaves", "finished", "lines fetched"],
                     [[f"{r['triangles']:,}", f"{r['points']:,}", f"{r['nodes']:.2f}", f"{r['leaves']:.2f}",
                       f"{r['finished']:.2f}", f"{r['misses']:.2f}"] for r in rows])
    looks = lambda r: r["nodes"] + r["leaves"]
    yield f"\nFrom {rows[0]['triangles']:,} to {rows[-1]['triangles']:,} triangles a query looks at {looks(rows[-1]) / looks(rows[0]):.2f} times as many nodes and leaves (the tree is a level"
    yield "deeper, and neighbouring triangles come within a float's rounding of equally near), and what it looks at no longer"
    yield "stays in the cache: a scan of the same size passes five times as many triangles between two points. Where the scan"
    yield "grows with the last, the lines are shared by the points that lie between, and the cost grows less."


def build_table(cases):
    yield "\n## Building, ms\n"
    yield "Ours with a copy of the mesh and the pseudonormals that the signs come from; Embree: the commit alone.\n"
    runs = {**medians(cases, "bench_peers"), **medians(cases, "bench_distance")}
    names = sorted({(k[0], k[5]) for k in runs if k[0].endswith(" build")}, key=lambda n: (not n[0].startswith(OURS), n))
    sizes = sorted({k[3] for k in runs if k[0].endswith(" build")})
    yield from table(["", "threads"] + [short(n) for n in sizes],
                     [[name.removesuffix(" build"), str(threads)] +
                      [f"{runs[(name, 'closed', '-', n, 0, threads)]:.1f}"
                       if (name, "closed", "-", n, 0, threads) in runs else "-" for n in sizes]
                      for name, threads in names])


def answers(cases):
    """{who: (largest difference from our distance in mm, points on the other side)} on closed lasts."""
    found = {}
    for key, runs in cases.items():
        for _, run in runs:
            if key[0] == "bench_peers" and key[2] == "closed" and key[1] != OURS and "differs_mm" in run:
                differs, signs = found.get(key[1], (0.0, None))
                if "other_signs" in run:
                    signs = max(signs or 0, run["other_signs"])
                found[key[1]] = max(differs, run["differs_mm"]), signs
    return found


def peer_table(cases):
    yield "\n## Side by side, in one run: nanoseconds per query, and how many times ours\n"
    runs = medians(cases, "bench_peers")
    questions = sorted({k[1:] for k in runs if k[4] > 0}, key=lambda q: (q[4], q[0], q[1] != "scan", q[2]))
    names = list(dict.fromkeys(k[0] for k in runs if k[4] > 0))
    rows = []
    for name in names:
        row = [name]
        for q in questions:
            if (name, *q) not in runs:
                row.append("-")
                continue
            ns, own = (ns_per_query(runs[(who, *q)], q[3]) if (who, *q) in runs else None for who in (name, OURS))
            row.append(f"{ns:,.0f}" if name == OURS or own is None else f"{ns:,.0f} ({ns / own:.1f}x)")
        rows.append(row)
    yield from table([""] + [f"{last}, {cloud}, {short(n)}/{short(p)}, {t} thr." for last, cloud, n, p, t in questions],
                     rows)
    yield "\nHow far the answers are from ours (largest difference of |distance|, mm; points on the other side):\n"
    rows = [[name, f"{differs_mm:.1e}", "unsigned" if signs is None else f"{signs:.0f}"]
            for name, (differs_mm, signs) in answers(cases).items()]
    yield from table(["closed lasts", "differs, mm", "other side"], rows)


def load_check(folder):
    """{(triangles of the last, who, threads): runs} of bench_check."""
    cases = {}
    for run in json.loads((folder / "bench_check.json").read_text())["check"]:
        cases.setdefault((run["last_triangles"], run["who"], run["threads"]), []).append(run)
    return cases


def check_tables(cases):
    """The whole check from STL files to a written report (bench_check)."""
    median = lambda runs, value: statistics.median(value(run) for run in runs)
    wall = lambda runs: median(runs, lambda run: run["wall_s"])
    yield "\n## The whole check: from two binary STL files to a written report\n"
    yield "Start of the program, reading, every stage and writing counted. Scan and last have about as many triangles each."
    yield "Open3D: the same two files merely read (its copies unwelded); and, for memory, the unsigned distance of the"
    yield "scan's vertices with the welded meshes handed over as arrays.\n"
    sizes = sorted({key[0] for key in cases})
    rows = []
    for who, threads in dict.fromkeys(key[1:] for key in sorted(cases, key=lambda k: (k[1][0] != "l", k))):
        name = f"{who}, 1 thread" if threads == 1 else who
        mine = [cases.get((n, who, threads)) for n in sizes]
        rows.append([name] + [f"{wall(r):.2f} s, {median(r, lambda run: run['peak_MiB']):.0f} MiB" if r else "-"
                              for r in mine])
        if who.startswith("lastroom"):
            rows.append([f"{name}: processor time"] +
                        [f"{median(r, lambda run: run['processor_s']):.2f} s" if r else "-" for r in mine])
    yield from table([""] + [f"{n:,} triangles" for n in sizes], rows)
    for n in sizes:
        ours_runs, reads = cases.get((n, "lastroom check", 0)), cases.get((n, "Open3D reads both", 0))
        if ours_runs and reads:
            yield f"\n{n:,}: Open3D's reading alone takes {wall(reads) / wall(ours_runs):.1f} times as long as our whole check."
    yield "\nSeconds by stage, as `result.json` tells them, all threads (share of the stages' sum):\n"
    stages = [s for s in cases[(sizes[0], "lastroom check", 0)][0]["stages_s"] if s != "total"]
    rows = []
    for n in sizes:
        runs = cases[(n, "lastroom check", 0)]
        seconds = [median(runs, lambda run: run["stages_s"][stage]) for stage in stages]
        rows.append([f"{n:,}"] + [f"{s:.3f} ({s / max(sum(seconds), 1e-9):.0%})" for s in seconds])
    yield from table(["triangles"] + stages, rows)
    yield "\n`prepare` is the largest: it passes over every triangle of both meshes to clean, stand and measure them, and maps the"
    yield "foot's skin. `report` draws ten pictures without hidden surface and their bands: a fixed cost at small sizes."
    yield "\nPeak memory by stage, MiB, all threads (what a stage holds counts in the next ones as long as they need it):\n"
    yield from table(["triangles", "start"] + stages,
                     [[f"{n:,}"] + [f"{statistics.median(peaks):.0f}" for peaks in
                                    zip(*(run["stage_peaks_MiB"] for run in cases[(n, "lastroom check", 0)]))] for n in sizes])
    yield MEMORY
    first, last_size = sizes[0], sizes[-1]
    if last_size > first:
        grows = wall(cases[(last_size, "lastroom check", 1)]) / wall(cases[(first, "lastroom check", 1)])
        n_log_n = last_size * math.log(last_size) / (first * math.log(first))
        yield f"\nFrom {first:,} to {last_size:,} triangles the whole check takes {grows:.1f} times as long (n log n: {n_log_n:.1f})."


def load_reading(folder):
    """{(file, triangles): {who: runs}} of bench_reading."""
    runs = {}
    for run in json.loads((folder / "bench_reading.json").read_text() or '{"benchmarks": []}')["benchmarks"]:
        if run.get("run_type") != "aggregate" and not run["name"].startswith("stages/"):
            who, _, frequency = run["name"].split("/")[:3]
            runs.setdefault((run["label"], short(20 * int(frequency) ** 2)), {}).setdefault(who, []).append(run)
    return runs


def reading_ms(found):
    return {who: statistics.median(run["real_time"] for run in runs) for who, runs in found.items()}


def reading_table(runs):
    yield "\n## Reading, ms by the clock\n"
    yield "Ours with welding, checks and SHA-256; Open3D's readers with RemoveDuplicatedVertices.\n"
    rows = []
    for (label, size), by_who in runs.items():
        ms = reading_ms(by_who)
        left = {who: f"{found[0]['vertices']:,.0f}" for who, found in by_who.items()}
        theirs = ms.get("open3d_readers")
        rows.append([label, size, f"{ms['ours']:.1f}", left["ours"],
                     f"{theirs:.1f}" if theirs else "-", left.get("open3d_readers", "-"),
                     f"{theirs / ms['ours']:.1f}x" if theirs else "-"])
    yield from table(["file", "triangles", "ours", "vertices", "Open3D", "vertices", "times ours"], rows)


def reading_stages(folder):
    yield "\nA binary PLY's stages one after the other, ms; SHA-256, which Open3D doesn't make, runs beside the last two when"
    yield "there are two threads. Welding and cleaning pass over what was read once for each kind of damage they look for, and"
    yield "every byte they allocate is fetched from the system page by page: at 200k that is what the ratio falls short by.\n"
    runs = {}
    for run in json.loads((folder / "bench_reading.json").read_text())["benchmarks"]:
        if run["name"].startswith("stages/") and run.get("run_type") != "aggregate":
            runs.setdefault(short(20 * int(run["name"].split("/")[1]) ** 2), []).append(run)
    stages = ["into memory", "SHA-256", "decoded", "welded and cleaned"]
    yield from table(["triangles"] + stages,
                     [[size] + [f"{statistics.median(run[stage] for run in found):.1f}" for stage in stages]
                      for size, found in runs.items()])


def registration_table(folder):
    file = folder / "bench_registration.json"
    if not file.exists():
        return
    runs = {}
    for run in json.loads(file.read_text())["benchmarks"]:
        if run.get("run_type") != "aggregate":
            runs.setdefault((run["label"], run["name"]), []).append(run)
    yield "\n## Standing the foot in the last\n"
    yield "Ours: all starts, fit, hinge and doubt; a sample stands for the skin of a 5 mm cell, so its cost hardly depends"
    yield "on the scan. Open3D's ICP: a fixed number of iterations from 5 degrees and 10 mm off. ns are per vertex of the"
    yield "scan and iteration.\n"
    rows = []
    for (label, name), found in runs.items():
        ms = statistics.median(run["real_time"] for run in found)
        points, iterations = found[0]["points"], found[0]["iterations"]
        threads = re.search(r"threads:(\d+)", name)
        rows.append([label, "all" if not threads or threads[1] == "0" else threads[1], f"{points:,.0f}", f"{ms:.1f}",
                     f"{iterations:.0f}", f"{ms * 1e6 / points / iterations:.0f}", f"{found[0]['error_mm']:.2f}"])
    yield from table(["", "threads", "vertices", "ms", "iterations", "ns", "instep off the truth, mm"], rows)


def plot(cases):
    """Cost against size, both axes in logarithms."""
    runs = medians(cases, "bench_peers")
    lines = {}
    for (who, last, cloud, n, p, threads), ms in sorted(runs.items()):
        if p > 0 and last == "closed" and cloud == "scan" and threads == 1:
            lines.setdefault(who, []).append((n, ns_per_query(ms, p)))
    if not lines:
        return ""
    width, height, left, right, top, bottom = 760, 420, 70, 300, 30, 50
    xs = [n for points in lines.values() for n, _ in points]
    ys = [ns for points in lines.values() for _, ns in points]
    low, high = 10 ** math.floor(math.log10(min(ys))), 10 ** math.ceil(math.log10(max(ys)))
    x = lambda n: left + (width - left - right) * math.log(n / min(xs)) / math.log(max(max(xs) / min(xs), 1.001))
    y = lambda ns: height - bottom - (height - top - bottom) * math.log(ns / low) / math.log(high / low)
    colours = iter(["#34495e", "#2980b9", "#8e44ad", "#7f8c8d", "#16a085", "#b7950b"])
    svg = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" font-family="sans-serif" font-size="12">',
           f'<rect width="{width}" height="{height}" fill="white"/>',
           f'<text x="{left}" y="18">Nanoseconds per query against triangles of the last, 1 thread</text>']
    power = low
    while power <= high:
        svg.append(f'<line x1="{left}" x2="{width - right}" y1="{y(power):.1f}" y2="{y(power):.1f}" stroke="#ddd"/>'
                   f'<text x="{left - 8}" y="{y(power) + 4:.1f}" text-anchor="end">{power:,.0f}</text>')
        power *= 10
    for n in sorted(set(xs)):
        svg.append(f'<line x1="{x(n):.1f}" x2="{x(n):.1f}" y1="{top}" y2="{height - bottom}" stroke="#eee"/>'
                   f'<text x="{x(n):.1f}" y="{height - bottom + 18}" text-anchor="middle">{short(n)}</text>')
    ends = {}
    for who, points in sorted(lines.items(), key=lambda line: -line[1][-1][1]):
        colour = "#c0392b" if who == OURS else next(colours)
        path = " ".join(f"{x(n):.1f},{y(ns):.1f}" for n, ns in points)
        stroke = 3 if who == OURS else 1.5
        svg.append(f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="{stroke}"/>')
        svg += [f'<circle cx="{x(n):.1f}" cy="{y(ns):.1f}" r="3" fill="{colour}"/>' for n, ns in points]
        at = max(y(points[-1][1]), max(ends.values(), default=0) + 15)  # names don't overlap
        ends[who] = at
        svg.append(f'<text x="{x(points[-1][0]) + 10:.1f}" y="{at + 4:.1f}" fill="{colour}">{who.split(" (")[0]}</text>')
    return "\n".join(svg + ["</svg>"]) + "\n"


def shelf_table():
    """As tests/shelf_scale.sh printed it last."""
    shelf = pathlib.Path(__file__).parents[2] / "reports" / "shelf.md"
    measured = shelf.read_text().split("## From a few lasts to many")[1].strip()
    return ["\n## A shelf of lasts\n", "From [shelf.md](shelf.md), which `tests/shelf_scale.sh` prints.\n", measured]


def main():
    folder, load, reports = pathlib.Path(sys.argv[1]), sys.argv[2], pathlib.Path(sys.argv[3])
    cases = load_cases(folder)
    repetitions = max(len(runs) for runs in cases.values())
    lines = ["# Speed\n",
             "Printed by `tests/bench/run.sh`; don't edit. For distances the last is a made, last-like closed body of 280 mm, the scan a",
             "cloud 19 mm inside to 5 mm outside of it, in mesh order (`scan`), or points all over a cube of 1.2 m (`far`).",
             f"Medians of {repetitions}. One thread: its processor time; two threads: the clock.\n",
             f"Machine: {machine()}. Load average before the run: {load}" +
             (" (**other programs were running: the two-thread figures are upper bounds**)." if float(load) > 0.5 else ".") + "\n"]
    if repetitions < 3:
        lines += ["**A quick look: too few repetitions for medians. Run it again on a machine at rest.**\n"]
    check, reading = load_check(folder), load_reading(folder)
    lines += ["\n## What was aimed at\n",
              *table(["ratio", "measured", "wanted", "reached"],
                     goal_rows(medians(cases, "bench_distance"), medians(cases, "bench_peers"), answers(cases),
                               {key: reading_ms(found) for key, found in reading.items()}, check))]
    lines += [*check_tables(check), "", *ours_tables(cases), *work_table(folder), *build_table(cases), *peer_table(cases),
              *reading_table(reading), *reading_stages(folder), *registration_table(folder)]
    svg = plot(cases)
    if svg:
        (reports / "speed.svg").write_text(svg)
        lines += ["\n![Cost against size](speed.svg)"]
    lines += shelf_table()
    (reports / "speed.md").write_text("\n".join(lines) + "\n")


main()
