"""What the benchmarks are held against, and whether each is reached: ratios within one run."""

import math
import statistics

OPEN3D, EMBREE = "Open3D ComputeDistance (unsigned)", "Embree rtcPointQuery (unsigned)"
NEAREST = "nanoflann nearest vertex (unsigned, not the surface)"
CGAL = "CGAL AABB tree + Side_of_triangle_mesh"


def _closest(sizes, wanted):
    return min(sizes, key=lambda n: abs(math.log(n / wanted)), default=None)


def _query_goals(distance, peers):
    """From {(who, last, cloud, triangles, points, threads): ms}."""
    def at(runs, who, triangles, points, threads):
        return next((ms / p for (w, last, cloud, n, p, t), ms in runs.items()
                     if (w, last, cloud, t) == (who, "closed", "scan", threads)
                     and abs(math.log(n / triangles)) < 0.1 and abs(math.log(p / points)) < 0.1), None)
    ours = at(peers, "lastroom", 2e5, 2e5, 1)
    for name, who, least in (("Open3D", OPEN3D, 15), ("Embree's point query", EMBREE, 10), ("nanoflann's nearest vertex", NEAREST, 1)):
        theirs = at(peers, who, 2e5, 2e5, 1)
        if ours and theirs:
            yield f"query, 200k/200k, 1 thread: times faster than {name}", theirs / ours, least, False
    both = at(distance, "lastroom", 2e5, 2e5, 2)
    if both:
        yield "query, 200k/200k: times faster again on two threads", at(distance, "lastroom", 2e5, 2e5, 1) / both, 1.8, False
    for points, what in ((1e6, "scan grown with it"), (2e5, "the same scan of 200k")):
        small, large = at(distance, "lastroom", 5e4, 5e4 if points == 1e6 else points, 1), at(distance, "lastroom", 1e6, points, 1)
        if small and large:
            yield f"cost per query, from 50k to 1M triangles, {what}: times", large / small, 1.5, True


def _build_goals(distance, peers):
    for threads in (1, 2):
        key = lambda who: next((k for k in (*distance, *peers) if k[0] == f"{who} build" and k[3] == 200_000 and k[5] == threads), None)
        ours, theirs = key("lastroom, the tree alone"), key(EMBREE)
        if ours and theirs:
            yield f"tree of 200k, {threads} thread(s): times Embree's commit", distance[ours] / peers[theirs], 1, True


def _answer_goals(answers):
    """From {who: (largest difference in mm, points on the other side)} on closed lasts."""
    if CGAL in answers:
        differs_mm, signs = answers[CGAL]
        yield "largest difference from CGAL's distance, in 1e-5 mm", differs_mm / 1e-5, 1, True
        yield "points on another side than CGAL says", float(signs), 0, True


def _reading_goals(reading):
    for (label, size), ms in reading.items():
        least = {"binary.stl": 20, "binary.ply": 10, "text.obj": 10}.get(label)
        if least and "open3d_readers" in ms:
            yield f"reading {label}, {size}: times faster than Open3D", ms["open3d_readers"] / ms["ours"], least, False


def _check_goals(check):
    """From {(triangles, who, threads): runs}."""
    sizes = sorted({key[0] for key in check})
    median = lambda key, value: statistics.median(run[value] for run in check[key])
    for n in (_closest(sizes, 2e5), _closest(sizes, 1e6)):
        ours, reads, distance = ((n, who, 0) for who in ("lastroom check", "Open3D reads both", "Open3D distance, meshes given"))
        if reads in check:
            yield f"whole check, {n:,}: times Open3D's reading of the two files", median(ours, "wall_s") / median(reads, "wall_s"), 1, True
        if distance in check and n == sizes[-1]:
            yield (f"peak memory of the whole check, {n:,}: times Open3D's for the distance alone",
                   median(ours, "peak_MiB") / median(distance, "peak_MiB"), 0.5, True)
    if len(sizes) > 1:
        small, large = sizes[0], sizes[-1]
        grows = median((large, "lastroom check", 1), "wall_s") / median((small, "lastroom check", 1), "wall_s")
        yield "whole check, smallest to largest: growth over n log n", grows / (large * math.log(large) / (small * math.log(small))), 1, True


def goal_rows(distance, peers, answers, reading, check):
    """Rows (what, measured, wanted, reached?) for a table."""
    for what, measured, wanted, at_most in (*_query_goals(distance, peers), *_build_goals(distance, peers), *_answer_goals(answers),
                                            *_reading_goals(reading), *_check_goals(check)):
        reached = measured <= wanted if at_most else measured >= wanted
        yield [what, f"{measured:.2f}", f"{'at most' if at_most else 'at least'} {wanted:g}", "yes" if reached else "**no**"]
