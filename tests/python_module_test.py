"""The Python module as its users meet it: arrays in, against what the program writes of the same files.

python_module_test.py PROGRAM: PYTHONPATH has the module. Arrays are read here by numpy after the published formats
(binary STL; PLY 1.0, G. Turk 1994), not by lastroom.
"""
import json
import math
import os
import subprocess
import sys
import tempfile
import threading
import unittest

import numpy as np

import lastroom

PROGRAM = sys.argv.pop(1)
FOLDER = tempfile.TemporaryDirectory()
SCAN, LAST = "brandt_right.ply", "last_fifth_toe_pressed.stl"


def path(name):
    return os.path.join(FOLDER.name, "demo", name)


def stl_arrays(file):
    record = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("unused", "<u2")])
    rows = np.fromfile(file, dtype=record, offset=84)
    corners = rows["corners"].reshape(-1, 3).astype(float)
    return corners, np.arange(len(corners)).reshape(-1, 3)


def ply_arrays(file):
    with open(file, "rb") as opened:
        head, counts = b"", {}
        while not head.startswith(b"end_header"):
            head = opened.readline()
            words = head.split()
            if words[0] == b"element":
                counts[words[1]] = int(words[2])
        vertices = np.fromfile(opened, dtype="<f4", count=3 * counts[b"vertex"]).reshape(-1, 3).astype(float)
        faces = np.fromfile(opened, dtype=[("n", "u1"), ("corners", "<i4", 3)], count=counts[b"face"])
    assert (faces["n"] == 3).all()
    return vertices, faces["corners"]


class Module(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        subprocess.run([PROGRAM, "demo", "--quiet", "-o", path("")], check=True, stdout=subprocess.DEVNULL)
        with open(path("fifth_toe_pressed/result.json")) as opened:
            cls.written = json.load(opened)
        cls.scan, cls.last = ply_arrays(path(SCAN)), stl_arrays(path(LAST))
        cls.fit = lastroom.fit(cls.scan, cls.last, wearer=cls.written["wearer"])

    def test_arrays_are_judged_as_the_program_judges_the_files(self):
        self.assertEqual(self.fit.verdict, self.written["verdict"])
        self.assertEqual(len(self.fit.zones), len(self.written["zones"]))
        for mine, theirs in zip(self.fit.zones, self.written["zones"]):
            self.assertEqual((mine.zone, mine.verdict), (theirs["zone"], theirs["verdict"]))
            for key, name in (("p05_mm", "p05_mm"), ("median_mm", "median_mm"), ("sigma_mm", "uncertainty_mm")):
                self.assertAlmostEqual(getattr(mine, key), theirs[name], delta=0.5e-4 + 1e-9)  # rounded to 1e-4
            np.testing.assert_allclose(mine.at_mm, theirs["at_mm"], atol=0.5e-4 + 1e-9)
        self.assertEqual([f.rule for f in self.fit.findings], [f["rule"] for f in self.written["findings"]])
        self.assertEqual([f.advice for f in self.fit.findings], [f["advice"] for f in self.written["findings"]])
        self.assertEqual(len(self.fit.changes), len(self.written["corrections"]["changes"]))
        np.testing.assert_array_equal(self.fit.pose.last_from_scan, self.written["registration"]["scan_to_last"])
        self.assertEqual(json.loads(self.fit.result_json())["zones"], self.written["zones"])

    def test_the_posed_skin_is_the_scan_moved(self):
        skin = self.fit.skin()
        self.assertEqual(skin.vertices.shape, (len(skin.clearance_mm), 3))
        self.assertLess(skin.triangles.max(), len(skin.vertices))
        motion = self.fit.pose.last_from_scan
        np.testing.assert_allclose(motion[:3, :3] @ motion[:3, :3].T, np.eye(3), atol=1e-12)  # orthogonal
        heel = skin.vertices[skin.vertices[:, 0].argmin()]  # the rear part, which the hinge leaves alone
        moved = self.scan[0] @ motion[:3, :3].T + motion[:3, 3]
        self.assertLess(np.linalg.norm(moved - heel, axis=1).min(), 1e-9)  # rounding of lengths below 1e3 mm
        self.assertGreater(np.isfinite(skin.clearance_mm).mean(), 0.5)

    def test_other_arrays_of_the_same_numbers_give_the_same(self):
        vertices, triangles = self.scan
        for same in ((np.asfortranarray(vertices), triangles.astype(np.uint64)),
                     (vertices.tolist(), triangles.tolist())):
            foot = lastroom.Foot(same, side="right", unit="mm")
            self.assertEqual(foot.measures_mm, lastroom.Foot(self.scan, side="right", unit="mm").measures_mm)

    def test_a_wearer_nobody_asked_about_is_judged_like_one_at_risk(self):
        foot, last = lastroom.Foot(self.scan), lastroom.Last(self.last)
        unknown = lastroom.fit(foot, last)
        self.assertEqual(unknown.wearer, "unknown")
        self.assertEqual(unknown.tightening.joint_girth_mm, 0.0)
        marked = lastroom.Foot(self.scan, never_press=[(self.scan[0][0], "ulcer, healed")])
        self.assertEqual(lastroom.fit(marked, last, wearer="standard", day=False).wearer, "at-risk")
        self.assertIn(b"<html", unknown.pages(language="fr")["referral.html"])

    def test_two_at_once_and_few_threads_give_the_same_bytes(self):
        told = [None, None]

        def judge(place, threads):
            told[place] = lastroom.fit(self.scan, self.last, threads=threads, day=False).result_json()

        others = [threading.Thread(target=judge, args=(place, place + 1)) for place in range(2)]
        for other in others:
            other.start()
        for other in others:
            other.join()
        self.assertIsNotNone(told[0])
        self.assertEqual(*told)

    def test_what_cannot_be_used_is_refused(self):
        with self.assertRaises(lastroom.Refused) as refused:
            lastroom.Foot(np.zeros((0, 3)))
        self.assertEqual(refused.exception.key, "mesh.no_vertices")
        self.assertIsInstance(refused.exception, ValueError)
        with self.assertRaises(lastroom.Refused):
            lastroom.fit("/nowhere/foot.ply", self.last)
        for wrong in (dict(wearer="fine"), dict(sock_mm=math.nan), dict(scan_error_mm=0)):
            with self.assertRaises(ValueError):
                lastroom.fit(lastroom.Foot(self.scan), lastroom.Last(self.last), **wrong)
        for wrong in (self.scan[0].T, (self.scan[0], self.scan[1].astype(float)), "", None):
            with self.assertRaises((ValueError, TypeError)):
                lastroom.Foot(wrong)
        vertices, triangles = self.scan
        damaged = np.vstack([vertices, [[math.nan] * 3]]), np.vstack([triangles, [[0, 1, -1], [0, 1, 2 ** 32 + 2]]])
        self.assertEqual(lastroom.Foot(damaged).measures_mm, lastroom.Foot(self.scan).measures_mm)

    def test_everything_public_is_documented(self):
        for name in ("fit", "Foot", "Last", "Fit", "Zone", "Finding", "Change", "Pose", "Skin", "Tightening"):
            self.assertTrue(getattr(lastroom, name).__doc__, name)


if __name__ == "__main__":
    unittest.main()
